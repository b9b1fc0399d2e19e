"""Every pair of eight commands, interleaved statement by statement: what comes of it is what comes
of doing one after the other, in one order or the other.

The longer run, held after every statement: LONGER=1 deploy/test --postgresql tests/proof/postgresql
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from deploy.kit.ledger_check import breaches
from implants.models import Unit
from implants.operations.holds import recall
from implants.operations.theatre import pick_unit
from scheduling.models import Case, TrayReservation, UnitReservation
from scheduling.operations.cases import cancel_case, move_case
from scheduling.operations.reservations import reserve_tray, reserve_unit
from tests import factories
from tests.factories import NOW
from tests.proof.acts import SLOTS
from tests.proof.figures import size
from tests.proof.jobs import outcome_of
from tests.proof.postgresql.stepping import Pair, two_threads
from tests.proof.rows import Fixed, Rows
from trays.models import Tray

pytestmark = pytest.mark.django_db(transaction=True)

PLACES = size(4, 1_000)
"""Of a command: after how many of its statements it is held, evenly spread."""


@dataclass(frozen=True, slots=True)
class Things:
    """A box and a tray that two cases of one day could do with; not in date for a later day."""

    a: Case
    b: Case
    unit: Unit
    tray: Tray
    by: Any


Command = Callable[[Things], Any]

COMMANDS: dict[str, Command] = {
    "reserve the box for A": lambda t: reserve_unit(case=t.a, unit=t.unit, by=t.by, now=NOW),
    "reserve the box for B": lambda t: reserve_unit(case=t.b, unit=t.unit, by=t.by, now=NOW),
    "pick the box for B": lambda t: pick_unit(unit=t.unit, case_ref=t.b.ref, by=t.by, now=NOW),
    "recall the box": lambda t: recall(units=[t.unit], reason="lot", by=t.by, now=NOW),
    "cancel A": lambda t: cancel_case(case=t.a, by=t.by, now=NOW),
    "move A to a later day": lambda t: move_case(case=t.a, start=SLOTS[3], by=t.by, now=NOW),
    "reserve the tray for A": lambda t: reserve_tray(case=t.a, tray=t.tray, by=t.by, now=NOW),
    "reserve the tray for B": lambda t: reserve_tray(case=t.b, tray=t.tray, by=t.by, now=NOW),
}


class House:
    def __init__(self, site: Any, by: Any) -> None:
        self.site, self.by, self.number = site, by, 0
        self.implant, self.sheet = factories.implant(site), factories.configuration(site)

    def things(self) -> Things:
        self.number += 1
        n = self.number
        return Things(
            factories.case(self.site, f"A{n}", start=SLOTS[0]),
            factories.case(self.site, f"B{n}", start=SLOTS[1]),
            factories.unit(self.implant, f"U{n}", expiry=SLOTS[0].date()),
            factories.tray(self.sheet, f"T{n}"),
            self.by,
        )


def stands(things: Things) -> list[Any]:
    """What came of it, without the numbers by which things are called."""
    unit, a = Unit.objects.get(pk=things.unit.pk), Case.objects.get(pk=things.a.pk)
    boxes = UnitReservation.objects.filter(unit=unit, freed_at=None)
    uses = TrayReservation.objects.filter(tray=things.tray, freed_at=None)
    return [
        unit.state,
        unit.case_ref[:1],
        a.status,
        a.start,
        sorted(one.case.ref[:1] for one in boxes.select_related("case")),
        sorted((one.case.ref[:1], one.busy_from) for one in uses.select_related("case")),
    ]


def said(command: Command, things: Things) -> Callable[[], str]:
    return lambda: outcome_of(lambda: command(things)).replace(" by the database", "")


def test_every_pair_is_as_if_one_came_after_the_other(site, coordinator, figures):
    house = House(site, coordinator)
    statements: dict[str, int] = {}
    serial: dict[tuple[str, str], list[Any]] = {}
    with two_threads() as pair:
        for one in COMMANDS:
            for other in COMMANDS:
                things = house.things()
                first = pair.first.submit(said(COMMANDS[one], things)).result()
                second = pair.second.submit(said(COMMANDS[other], things)).result()
                serial[one, other] = [first, second, stands(things)]
        for one in COMMANDS:
            statements[one] = _statements(pair, COMMANDS[one], house.things())
        tried, wrong = 0, []
        for one, other in serial:
            mirrored = serial[other, one]
            allowed = [serial[one, other], [mirrored[1], mirrored[0], mirrored[2]]]
            for after in places(statements[one]):
                things = house.things()
                first, second, _ = pair.interleaved(
                    said(COMMANDS[one], things), said(COMMANDS[other], things), after
                )
                tried += 1
                if [first, second, stands(things)] not in allowed:
                    wrong.append(f"{one} / {after} / {other}: {first}, {second}, {stands(things)}")
    rows = Rows.read(Fixed.read())
    wrong += [*rows.violations(), *breaches()]
    figures("Interleavings of every pair of 8", tried=tried, violations=len(wrong))
    assert wrong == []
    assert tried >= 200


def places(statements: int) -> list[int]:
    """After which statements a command is held, the last one never."""
    every = range(1, statements)
    step = max(1, len(every) // PLACES)
    return list(every[::step])[:PLACES]


def _statements(pair: Pair, command: Command, things: Things) -> int:
    return pair.interleaved(said(command, things), lambda: "", 10_000)[2]
