"""Writers that note what the database acknowledged, until it is gone."""

from __future__ import annotations

from typing import Any

from django.db import Error, connection, transaction

from deploy.kit.models import Person
from implants.models import Unit, UnitMove
from implants.operations.shelf import put_away
from tests.factories import NOW


def write_until_it_dies(*, number: int, boxes: int) -> dict[int, int]:
    """Put away the worker's own boxes over and over; the last acknowledged movement of each.

    Every tenth round through the operation, box by box in one transaction; the others through the
    ledger's rules alone, in one statement, for the sake of numbers.
    """
    by = Person.objects.select_related("user", "site").get(user__username="coordinator")
    units = list(Unit.objects.filter(code__startswith=f"W{number}-").order_by("pk"))
    assert len(units) == boxes
    move = UnitMove.objects.get(kind="put away").pk
    acknowledged = {unit.pk: unit.seq for unit in units}
    turn = 0
    try:
        while True:
            turn += 1
            with transaction.atomic():
                if turn % 10 == 0:
                    for unit in units:
                        put_away(unit=unit, location=f"A-{turn}", by=by, now=NOW)
                else:
                    _all_at_once(number, move, by)
            acknowledged = {pk: seq + 1 for pk, seq in acknowledged.items()}
    except Error:
        return acknowledged


def _all_at_once(number: int, move: int, by: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO implants_unitmovement (unit_id, seq, move_id, by_id, at, day, "
            "reason, case_ref, station, request_key, hold) "
            "SELECT id, seq + 1, %s, %s, %s, %s, '', '', 'A', '', '' FROM implants_unit "
            "WHERE code LIKE %s ORDER BY id",
            [move, by.user_id, NOW, NOW.date(), f"W{number}-%"],
        )
