"""Bugs, planted: each takes away a check of an operation, and the database's rule behind it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from deploy.kit import guards, movements
from implants.models import Unit, UnitMove, UnitMovement
from implants.operations import holds, theatre
from scheduling.models import UnitReservation
from scheduling.operations import cases, reservations
from tests.factories import NOW

Patch = pytest.MonkeyPatch


def lift(*names: str) -> None:
    settle()
    guards.lift(connection, names)


def settle() -> None:
    """PostgreSQL takes no trigger away from a table with checks that wait for the commit."""
    if connection.vendor == "postgresql":
        run("SET CONSTRAINTS ALL IMMEDIATE")


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def changed_for_the_check(patch: Patch, change: Callable[[Unit], None]) -> None:
    """The check of a box before its promise sees another box than there is."""
    right = reservations._check_unit

    def wrong(case: Any, unit: Unit) -> None:
        seen = Unit.objects.select_related("implant").get(pk=unit.pk)
        change(seen)
        right(case, seen)

    patch.setattr(reservations, "_check_unit", wrong)


def promised_twice(patch: Patch) -> None:
    def reserve(*, case: Any, unit: Unit, by: Any, now: Any) -> None:
        reservations._check_unit(case, reservations.locked_unit(unit))
        UnitReservation.objects.create(
            case=case, unit=unit, at=now, used_on=case.site.local(case.end).date()
        )

    patch.setattr(reservations, "reserve_unit", reserve)
    settle()
    run("DROP INDEX scheduling_unit_reserved_once")


def promised_past_its_date(patch: Patch) -> None:
    lift("scheduling_reserved_in_date_insert", "scheduling_reserved_in_date_update")
    changed_for_the_check(patch, lambda unit: setattr(unit, "expiry", None))


def promised_on_hold(patch: Patch) -> None:
    lift("scheduling_reserved_usable")

    def off_hold(unit: Unit) -> None:
        unit.hold, unit.state = "", "on the shelf" if unit.hold else unit.state

    changed_for_the_check(patch, off_hold)


def promised_to_the_other_side(patch: Patch) -> None:
    lift("scheduling_reserved_right_side")
    changed_for_the_check(patch, lambda unit: unit.implant.attributes.pop("side", None))


def date_not_looked_at_in_theatre(patch: Patch) -> None:
    lift("implants_picked_in_date", "implants_implanted_in_date")
    patch.setattr(theatre, "_is_out_of_date", lambda unit, now: False)


def picked_though_promised_to_another(patch: Patch) -> None:
    lift("scheduling_picked_for_its_case")


def picked_for_another_is_called_already(patch: Patch) -> None:
    def pick(*, unit: Unit, case_ref: str, **said: Any) -> Unit:
        there = movements.locked_item(theatre.UNITS, unit)
        if there.state == "picked":
            return there
        return right(unit=unit, case_ref=case_ref, **said)

    right = theatre.pick_unit
    patch.setattr(theatre, "pick_unit", pick)


def lifted_by_one_person(patch: Patch) -> None:
    lift("implants_unit_movement_two_people")
    right = holds.lift_quarantine

    def alone(*, unit: Unit, by: Any, second: Any, now: Any, reason: str, **said: Any) -> Any:
        if second != by:
            return right(unit=unit, by=by, second=second, now=now, reason=reason, **said)
        there = movements.locked_item(holds.UNITS, unit, said.get("seq"))
        move = UnitMove.objects.filter(from_state=there.state, kind="lift the hold").first()
        if move is None:
            return right(unit=unit, by=by, second=second, now=now, reason=reason, **said)
        return UnitMovement.objects.create(
            unit=there,
            seq=there.seq + 1,
            move=move,
            by_id=by.user_id,
            at=NOW,
            day=NOW.date(),
            reason=reason,
        )

    patch.setattr(holds, "lift_quarantine", alone)


def cancelled_and_still_holding(patch: Patch) -> None:
    patch.setattr(cases, "free_all", lambda **said: None)


def moved_and_not_reckoned_anew(patch: Patch) -> None:
    patch.setattr(cases, "keep_what_can_be_kept", lambda **said: None)


def tray_in_two_cases_at_once(patch: Patch) -> None:
    patch.setattr(reservations, "_in_the_way", lambda *said: None)
    settle()
    if connection.vendor == "postgresql":
        run("ALTER TABLE scheduling_trayreservation DROP CONSTRAINT scheduling_tray_uses_apart")
    else:
        lift(*(f"scheduling_tray_uses_apart_{what}" for what in ("insert", "update")))


def stale_forms_are_taken(patch: Patch) -> None:
    right = movements.locked_item
    for module in (movements, holds, theatre):
        patch.setattr(module, "locked_item", lambda ledger, item, seq=None: right(ledger, item))


def state_not_set_by_the_movement(patch: Patch) -> None:
    lift("implants_unit_movement_moves")


def history_is_edited(patch: Patch) -> None:
    lift("implants_unit_movement_no_update")
    right = theatre.put_back

    def tidied(*, unit: Unit, **said: Any) -> Any:
        done = right(unit=unit, **said)
        UnitMovement.objects.filter(unit=unit, seq=1).update(reason="tidied")
        return done

    patch.setattr(theatre, "put_back", tidied)


def corrected_straight_to_the_shelf(patch: Patch) -> None:
    for state in ("implanted", "wasted", "returned to supplier"):
        UnitMove.objects.create(
            from_state=state, to_state="on the shelf", kind="correct", two_people=True
        )

    def correct(*, unit: Unit, reason: str, **said: Any) -> Any:
        return movements.move_item(
            theatre.UNITS, unit, to="on the shelf", kind="correct", reason=reason, **said
        )

    patch.setattr(theatre, "correct_record", correct)


def freed_in_words_only(patch: Patch) -> None:
    right = reservations.free_unit

    def free(**said: Any) -> None:
        point = connection.savepoint()
        right(**said)
        connection.savepoint_rollback(point)

    patch.setattr(reservations, "free_unit", free)


BUGS: tuple[Callable[[Patch], None], ...] = (
    promised_twice,
    promised_past_its_date,
    promised_on_hold,
    promised_to_the_other_side,
    date_not_looked_at_in_theatre,
    picked_though_promised_to_another,
    picked_for_another_is_called_already,
    lifted_by_one_person,
    cancelled_and_still_holding,
    moved_and_not_reckoned_anew,
    tray_in_two_cases_at_once,
    stale_forms_are_taken,
    state_not_set_by_the_movement,
    history_is_edited,
    corrected_straight_to_the_shelf,
    freed_in_words_only,
)
