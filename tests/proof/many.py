"""Many movements, put in through the database's own rules: each is refused or follows the last."""

from __future__ import annotations

from django.db import connection

from implants.models import Implant, Unit, UnitMove, UnitMovement
from tests.factories import NOW


def enter_boxes(implant: Implant, by: int, boxes: int, each: int) -> int:
    """So many boxes on the shelf, each moved so often in all; the number of movements."""
    Unit.objects.bulk_create(
        Unit(site=implant.site, implant=implant, code=f"M{number}", does_not_expire=True)
        for number in range(boxes)
    )
    moves = [UnitMove.objects.get(from_state="", to_state="on the shelf", kind="receive")]
    moves += [UnitMove.objects.get(kind="put away")] * (each - 1)
    fields = [
        field.column
        for field in UnitMovement._meta.concrete_fields
        if field.column not in ("id", "recorded_at")
    ]
    said = {
        "unit_id": "u.id",
        "seq": "%(seq)s",
        "move_id": "%(move)s",
        "by_id": "%(by)s",
        "at": "%(at)s",
        "day": "%(day)s",
        "second_id": "NULL",
        "expected_at": "NULL",
    }
    columns = ", ".join(said.get(field, "''") for field in fields)
    with connection.cursor() as cursor:
        for seq, move in enumerate(moves, start=1):
            cursor.execute(
                f"INSERT INTO implants_unitmovement ({', '.join(fields)}) "
                f"SELECT {columns} FROM implants_unit u WHERE u.code LIKE 'M%%'",
                {"seq": seq, "move": move.pk, "by": by, "at": NOW, "day": NOW.date()},
            )
    return boxes * each
