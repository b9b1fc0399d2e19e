"""Tray claims: which sets a case is promised, and the arrangement that is shown."""

from __future__ import annotations

from scheduling.coverage.values import Priority
from tests.coverage_engine.build import tray, wants
from tests.coverage_engine.tray_store import (
    ADD,
    ALONE,
    BASE,
    FAST,
    HELD,
    SHORT,
    decided,
    femur,
)

# -- sets and options ------------------------------------------------------------------------------


def test_one_tray_of_each_configuration_of_the_option() -> None:
    asked = wants("C1", "Tue 08:00", sets="BASE + ADD")
    whole = decided(BASE, ADD, tray("BASE/1"), tray("ADD/1"), asked)
    assert femur(whole, "C1") == (HELD, ("BASE/1", "ADD/1"))
    half = decided(BASE, ADD, tray("BASE/1"), asked)
    assert femur(half, "C1") == (SHORT, ())


def test_the_earlier_option_is_preferred() -> None:
    both = [BASE, ALONE, tray("BASE/1"), tray("ALONE/1")]
    first = decided(*both, wants("C1", "Tue 08:00", sets="ALONE or BASE"))
    assert femur(first, "C1") == (HELD, ("ALONE/1",))
    other = decided(*both, wants("C1", "Tue 08:00", sets="BASE or ALONE"))
    assert femur(other, "C1") == (HELD, ("BASE/1",))


def test_the_later_option_held_comes_before_the_earlier_one_conditional() -> None:
    report = decided(
        FAST,
        ALONE,
        tray("BASE/1", arrives="Mon 08:00"),
        tray("ALONE/1"),
        wants("C1", "Tue 08:00", sets="BASE or ALONE"),
    )
    assert femur(report, "C1") == (HELD, ("ALONE/1",))


def test_an_earlier_case_takes_its_second_option_so_that_a_later_one_is_served() -> None:
    """First come first served would give C1 the base, and C2 nothing."""
    report = decided(
        BASE,
        ALONE,
        tray("BASE/1"),
        tray("ALONE/1"),
        wants("C1", "Tue 08:00", sets="BASE or ALONE"),
        wants("C2", "Tue 09:00", sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("ALONE/1",))
    assert femur(report, "C2") == (HELD, ("BASE/1",))


def test_an_earlier_claim_is_never_worse_for_a_later_one() -> None:
    """C1 could be fast-tracked to leave C2 its tray; but held is what it has been promised."""
    report = decided(
        FAST,
        tray("BASE/1"),
        wants("C1", "Tue 13:15", priority=Priority.URGENT, sets="BASE"),
        wants("C2", "Tue 08:00", sets="BASE"),
    )
    assert femur(report, "C1")[0] is HELD
    assert femur(report, "C2")[0] is SHORT


def test_no_tray_twice_in_a_case() -> None:
    asked = wants("C1", "Tue 08:00", sets=("BASE", "BASE"))
    one = decided(BASE, tray("BASE/1"), asked).case("C1")
    assert [each.status for each in one.sets] == [HELD, SHORT]
    two = decided(BASE, tray("BASE/1"), tray("BASE/2"), asked).case("C1")
    assert [each.trays for each in two.sets] == [("BASE/1",), ("BASE/2",)]


def test_the_lowest_code_is_shown_and_the_order_of_the_input_does_not_matter() -> None:
    entries = [BASE, tray("BASE/2"), tray("BASE/1"), wants("C1", "Tue 08:00", sets="BASE")]
    assert femur(decided(*entries), "C1") == (HELD, ("BASE/1",))
    assert decided(*entries) == decided(*reversed(entries))
