"""The rules that are constraints: refused with them, done without them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from django.db import IntegrityError, connection, transaction

from deploy.kit import guards
from implants.ledger import UNITS
from implants.models import UnitMove, UnitMovement
from tests import factories
from tests.negative_controls import of_promises
from tests.negative_controls.house import House, entry, kind, trial
from tests.negative_controls.test_triggers import rows, settle

__all__ = ["rows"]


def sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def refused(attempt: Callable[[House], None], house: House) -> bool:
    try:
        with transaction.atomic():
            attempt(house)
    except IntegrityError:
        return True
    return False


def a_box_twice(house: House) -> None:
    factories.promised_unit(house.left, house.unit)
    factories.promised_unit(house.other, house.unit)


def test_a_box_in_two_live_reservations(rows: House) -> None:
    assert refused(a_box_twice, rows)
    sql("DROP INDEX scheduling_unit_reserved_once")
    assert not refused(a_box_twice, rows)


@pytest.mark.parametrize(
    "attempt", [of_promises.a_tray_twice_at_once, of_promises.a_tray_moved_into_another_use]
)
def test_two_uses_of_a_tray_that_overlap(attempt, rows: House) -> None:
    assert refused(attempt, rows)
    settle()
    if connection.vendor == "postgresql":
        sql("ALTER TABLE scheduling_trayreservation DROP CONSTRAINT scheduling_tray_uses_apart")
    else:
        names = [f"scheduling_tray_uses_apart_{what}" for what in ("insert", "update")]
        guards.lift(connection, names)
    assert not refused(attempt, rows)


def test_two_uses_that_touch_are_apart(rows: House) -> None:
    first = factories.promised_tray(rows.left, rows.tray)
    second = {"busy_from": first.busy_until, "busy_until": first.busy_until.replace(year=2028)}
    factories.promised_tray(rows.other, rows.tray, **second)


@contextmanager
def without_the_check(table: str, name: str) -> Iterator[None]:
    settle()
    if connection.vendor == "postgresql":
        sql(f"ALTER TABLE {table} DROP CONSTRAINT {name}")
        yield
        return
    sql("PRAGMA ignore_check_constraints = ON")
    yield
    sql("PRAGMA ignore_check_constraints = OFF")


def a_tray_for_no_time(house: House) -> None:
    start = house.left.start
    factories.promised_tray(house.left, house.tray, busy_from=start, busy_until=start)


def test_a_use_without_duration_which_would_overlap_with_nothing(rows: House) -> None:
    assert refused(a_tray_for_no_time, rows)
    with without_the_check("scheduling_trayreservation", "scheduling_tray_busy_in_order"):
        assert not refused(a_tray_for_no_time, rows)


def signed_twice_by_one(house: House) -> None:
    item = house.unit
    entry(item, UNITS, house.by, trial(UNITS, item, two_people=True), second=house.by.user)


def test_one_person_is_not_two(rows: House) -> None:
    assert refused(signed_twice_by_one, rows)
    with without_the_check("implants_unitmovement", "implants_unitmovement_two_differ"):
        assert not refused(signed_twice_by_one, rows)


# -- moves that are not in the table ------------------------------------------------------------


def picked(house: House) -> None:
    pick = UnitMove.objects.filter(kind="pick", from_state__in=["on the shelf", house.unit.state])
    entry(house.unit, UNITS, house.by, pick.order_by("pk").last(), case_ref="C1", hold="")


def test_a_box_in_quarantine_is_never_picked(rows: House) -> None:
    factories.held(rows.unit, "dropped")
    assert refused(picked, rows)
    UnitMove.objects.create(from_state="quarantine", to_state="picked", kind="pick")
    assert not refused(picked, rows)


def back_on_the_shelf(house: House) -> None:
    house.unit.refresh_from_db()
    back = UnitMove.objects.filter(kind="put back").order_by("pk").last()
    entry(house.unit, UNITS, house.by, back, case_ref="")


def test_an_implanted_box_never_comes_back_to_the_shelf(rows: House) -> None:
    entry(rows.unit, UNITS, rows.by, kind(UNITS, rows.unit, "implant"), case_ref="C1")
    assert refused(back_on_the_shelf, rows)
    UnitMove.objects.create(from_state="implanted", to_state="on the shelf", kind="put back")
    assert not refused(back_on_the_shelf, rows)


# -- two guards behind each other ---------------------------------------------------------------


def test_a_fork_is_refused_twice_over(rows: House) -> None:
    """Should the trigger be gone, the number of a movement is still given once."""
    settle()
    guards.lift(connection, ["implants_unit_movement_follows"])
    item = rows.unit
    move = trial(UNITS, item)
    assert refused(lambda house: entry(item, UNITS, house.by, move, seq=1), rows)


def test_history_is_not_replaced_by_an_insert(rows: House) -> None:
    """SQLite's INSERT OR REPLACE deletes first, and fires the triggers of that only if told to."""
    settle()
    guards.lift(connection, ["implants_unit_movement_follows"])
    old = UnitMovement.objects.get(unit=rows.unit)
    columns = [field.column for field in UnitMovement._meta.concrete_fields]
    said = ", ".join("'another'" if one == "reason" else one for one in columns)
    insert = (
        f"INTO implants_unitmovement ({', '.join(columns)}) "
        f"SELECT {said} FROM implants_unitmovement WHERE id = {old.pk}"
    )
    if connection.vendor == "postgresql":
        replace = f"INSERT {insert} ON CONFLICT (id) DO UPDATE SET reason = 'another'"
        off, lifted = "SELECT 1", ["implants_unit_movement_no_update"]
    else:
        replace = f"INSERT OR REPLACE {insert}"
        off, lifted = "PRAGMA recursive_triggers = OFF", []
    lifted.append("implants_unit_movement_timed")
    guards.lift(connection, ["implants_unit_movement_timed"])
    assert refused(lambda house: sql(replace), rows)
    sql(off)
    guards.lift(connection, lifted)
    try:
        assert not refused(lambda house: sql(replace), rows)
    finally:
        if connection.vendor == "sqlite":
            sql("PRAGMA recursive_triggers = ON")
    old.refresh_from_db()
    assert old.reason == "another"
