"""Every breach of the records is found, planted where the rules that prevent it are off."""

from __future__ import annotations

from collections.abc import Callable
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.kit import guards
from deploy.kit.ledger_check import Item, compare
from implants.ledger import UNITS
from implants.models import Unit, UnitMove, UnitMovement
from scheduling.models import Case
from tests import factories
from tests.factories import NOW
from tests.negative_controls.house import House, entry, house, kind
from tests.negative_controls.of_promises import a_tray_twice_at_once
from tests.negative_controls.test_constraints import a_box_twice
from tests.negative_controls.test_triggers import settle
from trays.models import Tray


@pytest.fixture
def rows(site, coordinator, manager) -> House:
    """Three boxes and a tray; the first box was picked and put back."""
    made = house(site, coordinator, manager)
    entry(made.unit, UNITS, coordinator, kind(UNITS, made.unit, "pick"), case_ref="C1")
    made.unit.refresh_from_db()
    entry(made.unit, UNITS, coordinator, kind(UNITS, made.unit, "put back"), case_ref="")
    settle()
    return made


def verify() -> tuple[list[str], str]:
    """The breaches, and how the command ended."""
    out = StringIO()
    try:
        call_command("verify_ledger", stdout=out)
    except CommandError as error:
        return out.getvalue().splitlines(), str(error)
    return [], out.getvalue().strip()


def test_whole_records(rows):
    assert verify() == (
        [],
        "whole: 1 movements of 1 trays, 5 movements of 3 units, 1 movements of 1 orders, "
        "2 movements of 1 loans",
    )


def movement_gone(house: House) -> None:
    UnitMovement.objects.filter(unit=house.unit, seq=2).delete()


def movements_gone(house: House) -> None:
    UnitMovement.objects.filter(unit=house.unit).delete()


def edited(house: House) -> None:
    waste = UnitMove.objects.get(kind="waste", from_state="on the shelf")
    UnitMovement.objects.filter(unit=house.unit, seq=2).update(move=waste)


def state_changed(house: House) -> None:
    Unit.objects.filter(pk=house.unit.pk).update(state="wasted")


def time_changed(house: House) -> None:
    Tray.objects.update(ready_at=NOW.replace(year=2028))


def item_without_entry(house: House) -> None:
    Unit.objects.create(
        site=house.site, implant=house.unit.implant, code="U-NEW", does_not_expire=True
    )


def move_added(house: House) -> None:
    UnitMove.objects.create(from_state="implanted", to_state="on the shelf", kind="put back")


def move_gone(house: House) -> None:
    UnitMove.objects.filter(kind="recall", from_state="picked").delete()


def case_over(house: House) -> None:
    factories.promised_unit(house.left, house.unit)
    Case.objects.filter(pk=house.left.pk).update(status="ended")


def box_twice(house: House) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DROP INDEX scheduling_unit_reserved_once")
    a_box_twice(house)


def tray_twice(house: House) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "ALTER TABLE scheduling_trayreservation DROP CONSTRAINT scheduling_tray_uses_apart"
            )
    a_tray_twice_at_once(house)


PLANTED: list[tuple[Callable[[House], None], list[str]]] = [
    (
        movement_gone,
        [
            "unit U001: movement 2 is missing",
        ],
    ),
    (
        movements_gone,
        [
            "unit U001: has no movement",
            "unit: 2 entered, 3 stand somewhere",
            "unit: 3 stand “on the shelf”, 2 by the ledger",
        ],
    ),
    (
        edited,
        [
            "unit U001: movement 3 leaves “picked”, but it was “wasted”",
        ],
    ),
    (
        state_changed,
        [
            "unit U001: stands otherwise than its last movement says",
            "unit: 2 stand “on the shelf”, 3 by the ledger",
            "unit: 1 stand “wasted”, 0 by the ledger",
        ],
    ),
    (time_changed, ["tray BASE/1: stands otherwise than its last movement says"]),
    (item_without_entry, ["unit U-NEW: never entered"]),
    (
        move_added,
        [
            "unit: the database allows a move that the table has not: "
            "put back, implanted → on the shelf"
        ],
    ),
    (
        move_gone,
        ["unit: the database lacks a move of the table: recall, picked → recalled"],
    ),
    (case_over, ["unit U001: still reserved for case C1, which is over"]),
    (box_twice, ["unit U001: reserved 2 times at once"]),
    (tray_twice, ["tray BASE/1: its uses for C1 and C2 overlap"]),
]


@pytest.mark.parametrize(("plant", "found"), PLANTED, ids=[one.__name__ for one, _ in PLANTED])
def test_a_planted_breach_is_found(plant, found, rows):
    guards.lift(connection)
    plant(rows)
    settle()
    guards.install(connection)
    assert verify() == (found, f"{len(found)} breaches: the records are not whole")


def test_a_missing_rule_is_found(rows):
    guards.lift(connection, ["trays_tray_movement_follows"])
    assert verify()[0] == [
        "trays_traymovement: the database does not keep the rule trays_tray_movement_follows"
    ]


# -- what the databases' own constraints keep from being planted, on values -----------------------

ENTERED = (1, 1, "", "on the shelf")
PICKED = (1, 2, "on the shelf", "picked")
BOX = {1: Item("U1", ("picked", 2))}


@pytest.mark.parametrize(
    ("items", "movements", "found"),
    [
        (BOX, [ENTERED, PICKED], []),
        (
            BOX,
            [ENTERED, (1, 2, "on the shelf", "wasted"), PICKED],
            ["box U1: movement 2 is there twice"],
        ),
        (
            BOX,
            [(1, 1, "picked", "on the shelf"), PICKED],
            [
                "box U1: movement 1 leaves “picked”, but it was “”",
            ],
        ),
        (
            {},
            [ENTERED],
            [
                "box with key 1: has movements and is not there",
                "box: 1 entered, 0 stand somewhere",
                "box: 0 stand “on the shelf”, 1 by the ledger",
            ],
        ),
        ({2: Item("U2", ("", 0))}, [], ["box U2: never entered"]),
    ],
)
def test_replay(items, movements, found):
    assert list(compare("box", items, movements)) == found
