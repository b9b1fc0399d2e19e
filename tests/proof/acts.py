"""What may be done in the small house of the proof, and whether it should be refused.

An act is judged from the rows alone, by the rules as people know them; the operations are asked
afterwards, and must agree.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from deploy.kit.models import Person
from implants.models import Unit
from implants.operations import holds, theatre
from implants.operations import shelf as shelf_operations
from scheduling.models import Case
from scheduling.operations import cases as case_operations
from scheduling.operations import reservations
from tests.factories import NOW
from tests.proof.rows import GONE, HELD, OVER, Rows, last_day
from trays.models import Tray
from trays.operations import moves as tray_moves
from trays.stages import Stage

IN_THE_HOUSE = ("on the shelf", "picked", *HELD)
SLOTS = [NOW + timedelta(days=day, hours=hour) for day, hour in ((1, 1), (1, 5), (2, 1), (3, 1))]
"""Starts of a case: two on one day, which one tray cannot serve both, and two on days after."""


@dataclass(frozen=True, slots=True)
class Act:
    """`do` takes more keywords (a stale `seq`).  `holds`: what is true after it was done."""

    name: str
    do: Callable[..., Any]
    legal: bool
    then: Callable[[Rows], bool]
    moves: Unit | Tray | None = None
    database_may_refuse: bool = False

    @property
    def verb(self) -> str:
        return self.name.split()[0]


@dataclass(frozen=True, slots=True)
class House:
    by: Person
    second: Person


def acts(rows: Rows, house: House, now: datetime) -> Iterator[Act]:
    for unit in rows.units.values():
        yield from _of_a_box(unit, rows, house, now)
        for case in rows.cases.values():
            yield from _of_a_box_and_a_case(unit, case, rows, house, now)
    for tray in rows.trays.values():
        yield from _of_a_tray(tray, rows, house, now)
    for case in rows.cases.values():
        yield from _of_a_case(case, house, now)


def _of_a_box(unit: Unit, rows: Rows, house: House, now: datetime) -> Iterator[Act]:
    said = {"unit": unit, "by": house.by, "now": now}
    pk, state = unit.pk, unit.state

    def act(name: str, operation: Any, to: str, legal: bool, **more: Any) -> Act:
        return Act(
            f"{name} {unit}",
            lambda **also: operation(**said, **more, **also),
            legal,
            lambda after: after.units[pk].state == to,
            unit,
        )

    yield act("put back", theatre.put_back, "on the shelf", state == "picked")
    yield act(
        "quarantine",
        holds.quarantine,
        "quarantine",
        state in ("on the shelf", "picked", "quarantine"),
        reason="dropped",
    )
    yield Act(
        f"recall {unit}",
        lambda: holds.recall(units=[unit], reason="lot recalled", by=house.by, now=now),
        state in IN_THE_HOUSE,
        lambda after: after.units[pk].state == "recalled",
    )
    for second in (house.second, house.by):
        two = second is house.second
        said_two = {"second": second, "reason": "looked at"}
        yield act(
            "lift" if two else "lift alone",
            holds.lift_quarantine,
            "on the shelf",
            state in HELD and two,
            **said_two,
        )
        yield act(
            "correct" if two else "correct alone",
            theatre.correct_record,
            "quarantine",
            state in GONE and two,
            **said_two,
        )
    yield act("waste", theatre.record_wasted, "wasted", state in IN_THE_HOUSE, reason="opened")
    yield act(
        "return",
        shelf_operations.return_to_supplier,
        "returned to supplier",
        state in ("on the shelf", *HELD),
    )


def _of_a_box_and_a_case(
    unit: Unit, case: Case, rows: Rows, house: House, now: datetime
) -> Iterator[Act]:
    holder, wrong = rows.holder(unit), rows.is_other_side(unit, case.ref)
    past = unit.expiry is not None and unit.expiry < now.astimezone(case.site.zone).date()
    said = {"unit": unit, "by": house.by, "now": now}
    pk, ref = unit.pk, case.ref
    about = f"{unit} for {case}"
    is_theirs = unit.state == "picked" and unit.case_ref == ref
    usable = unit.state == "on the shelf" or is_theirs
    in_date = unit.expiry is None or unit.expiry >= last_day(case)
    yield Act(
        f"reserve {about}",
        lambda: reservations.reserve_unit(case=case, **said),
        case.status not in OVER
        and (holder == case or (holder is None and usable and in_date and not wrong)),
        lambda after: after.holder(unit) == case,
    )
    yield Act(
        f"free {about}",
        lambda: reservations.free_unit(case=case, **said),
        holder == case,
        lambda after: after.holder(unit) is None,
    )
    others = holder is not None and holder != case
    yield Act(
        f"pick {about}",
        lambda **also: theatre.pick_unit(case_ref=ref, **said, **also),
        is_theirs or (unit.state == "on the shelf" and not past and not wrong and not others),
        lambda after: (after.units[pk].state, after.units[pk].case_ref) == ("picked", ref),
        unit,
        database_may_refuse=wrong or others,
    )
    plain = unit.state in ("on the shelf", "picked") and not past and not wrong
    for override in ({}, {"reason": "it was used", "second": house.second}):
        may = plain or (bool(override) and unit.state in IN_THE_HOUSE)
        yield Act(
            f"implant {about}{' by two' if override else ''}",
            lambda override=override, **also: theatre.record_implanted(
                case_ref=ref, **said, **override, **also
            ),
            may,
            lambda after: after.units[pk].state == "implanted",
            unit,
            database_may_refuse=wrong,
        )


def _of_a_tray(tray: Tray, rows: Rows, house: House, now: datetime) -> Iterator[Act]:
    said = {"tray": tray, "by": house.by, "now": now}
    pk, on_hold = tray.pk, tray.stage == "quarantine"
    users = rows.users(tray)
    yield Act(
        f"hold {tray}",
        lambda **also: tray_moves.move_tray(stage=Stage.QUARANTINE, reason="hole", **said, **also),
        True,
        lambda after: after.trays[pk].stage == "quarantine",
        tray,
    )
    yield Act(
        f"lift {tray}",
        lambda **also: tray_moves.lift_hold(ready_at=now, **said, **also),
        on_hold or tray.stage == "cleaning",
        lambda after: after.trays[pk].stage == "cleaning",
        tray,
    )
    for case in rows.cases.values():
        same_day = any(last_day(one) == last_day(case) for one in users if one != case)
        yield Act(
            f"reserve {tray} for {case}",
            lambda case=case: reservations.reserve_tray(case=case, **said),
            case.status not in OVER and (case in users or not (on_hold or same_day)),
            lambda after, case=case: case in after.users(tray),
        )
        yield Act(
            f"free {tray} for {case}",
            lambda case=case: reservations.free_tray(case=case, **said),
            case in users,
            lambda after, case=case: case not in after.users(tray),
        )


def _of_a_case(case: Case, house: House, now: datetime) -> Iterator[Act]:
    said = {"case": case, "by": house.by, "now": now}
    pk = case.pk
    for name, status, before in (
        ("cancel", "cancelled", "booked"),
        ("start", "started", "booked"),
        ("end", "ended", "started"),
    ):
        yield Act(
            f"{name} {case}",
            lambda name=name: getattr(case_operations, f"{name}_case")(**said),
            case.status == before,
            lambda after, status=status: after.cases[pk].status == status,
        )
    for start in SLOTS:
        yield Act(
            f"move {case} to {start:%a %H:%M}",
            lambda start=start: case_operations.move_case(start=start, **said),
            case.status == "booked",
            lambda after, start=start: after.cases[pk].start == start,
        )
