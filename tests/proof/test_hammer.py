"""Many processes at the same boxes, every one for its own case: each box is had once.

16 processes and 200 boxes on PostgreSQL, 8 and 100 on SQLite.
The longer run: LONGER=1 deploy/test --postgresql tests/proof/test_hammer.py
"""

from __future__ import annotations

from collections import Counter

import pytest
from django.db import connection
from django.db.models import Count

from deploy.kit.ledger_check import breaches
from scheduling.models import UnitReservation
from tests import factories
from tests.proof.crew import crew
from tests.proof.figures import size

pytestmark = pytest.mark.django_db(transaction=True)


def shape() -> tuple[str, int, int]:
    """The row, how many processes, how many boxes."""
    if connection.vendor == "postgresql":
        return "PostgreSQL hammer", 16, size(200, 20_000)
    return "SQLite hammer", 8, size(100, 10_000)


def hospital(site, processes: int, boxes: int) -> None:
    implant = factories.implant(site)
    for number in range(processes):
        factories.case(site, f"C{number}")
    for number in range(boxes):
        factories.unit(implant, f"U{number:05}")


def doubles() -> int:
    live = UnitReservation.objects.filter(freed_at=None).values("unit")
    return live.annotate(times=Count("pk")).filter(times__gt=1).count()


def test_every_box_is_had_once(site, coordinator, figures):
    row, processes, boxes = shape()
    hospital(site, processes, boxes)
    outcomes: Counter[str] = Counter()
    for done in crew("tests.proof.jobs:reserve_every_box", processes):
        outcomes.update(done)
    locked = sum(number for said, number in outcomes.items() if said.startswith("gave up"))
    figures(
        row,
        processes=processes,
        boxes=boxes,
        tried=outcomes.total(),
        ok=outcomes["ok"],
        refused=outcomes["refused"],
        doubles=doubles(),
        locked=locked,
    )
    assert outcomes == {"ok": boxes, "refused": boxes * (processes - 1)}
    assert UnitReservation.objects.count() == boxes
    assert list(breaches()) == []


def test_without_lock_and_rule_boxes_are_had_twice(site, coordinator, figures):
    """The control, and the reason: looking first is not enough."""
    _, _, boxes = shape()
    hospital(site, 4, boxes // 2)
    with connection.cursor() as cursor:
        cursor.execute("DROP INDEX scheduling_unit_reserved_once")
    try:
        crew("tests.proof.jobs:check_then_insert", 4)
        found = doubles()
    finally:
        UnitReservation.objects.update(freed_at="2027-03-01T08:00Z")
        with connection.cursor() as cursor:
            cursor.execute(
                "CREATE UNIQUE INDEX scheduling_unit_reserved_once "
                "ON scheduling_unitreservation (unit_id) WHERE freed_at IS NULL"
            )
    figures("Hammer's control, no lock and no rule", boxes=boxes // 2, doubles=found)
    assert found > 0
