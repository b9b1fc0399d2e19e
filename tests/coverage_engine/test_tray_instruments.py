"""The instruments of a case's trays and packs: what is missing, and what fills it."""

from __future__ import annotations

import pytest

from scheduling.coverage.values import Priority, Tray
from tests.coverage_engine.build import kind, tray, wants
from tests.coverage_engine.tray_store import (
    ADD,
    BASE,
    CONDITIONAL,
    CONTINGENCY,
    HELD,
    LACKS_IT,
    SHORT,
    SINGLE,
    decided,
    femur,
    reamer,
)

# -- instruments -----------------------------------------------------------------------------------


def test_an_instrument_is_met_by_the_trays_of_the_case() -> None:
    report = decided(BASE, tray("BASE/1"), wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"))
    assert reamer(report, "C1") == {"held": 1}


def test_a_missing_rung_is_short_for_the_case_that_needs_it_and_for_no_other() -> None:
    needing = decided(BASE, LACKS_IT, wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"))
    assert femur(needing, "C1")[0] is HELD
    assert reamer(needing, "C1") == {"short": 1}
    other = decided(BASE, LACKS_IT, wants("C1", "Tue 08:00", sets="BASE"))
    assert str(other.case("C1").verdict) == "covered"


def test_two_cases_swap_trays_so_that_each_has_what_it_needs() -> None:
    """C1 comes first and would have BASE/1, the lowest code, but only C2 needs its reamer."""
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2", missing="REAM-12"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", "Tue 09:00", planned="REAM-12", sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/2",))
    assert femur(report, "C2") == (HELD, ("BASE/1",))
    assert reamer(report, "C2") == {"held": 1}


def test_the_sets_of_a_case_are_counted_together() -> None:
    two_sets = kind("ADD", "REAM-12")
    asked = wants("C1", "Tue 08:00", {"REAM-12": 2}, sets=("BASE", "ADD"))
    assert reamer(decided(BASE, two_sets, tray("BASE/1"), tray("ADD/1"), asked), "C1") == {
        "held": 2
    }
    assert reamer(decided(BASE, two_sets, LACKS_IT, tray("ADD/1"), asked), "C1") == {"short": 2}


def test_what_is_missing_in_part_leaves_the_rest() -> None:
    three = kind("BASE", "REAM-12 REAM-12 REAM-12")
    for missing, state in (("REAM-12", "held"), ("REAM-12 REAM-12", "short")):
        report = decided(
            three,
            tray("BASE/1", missing=missing),
            wants("C1", "Tue 08:00", {"REAM-12": 2}, sets="BASE"),
        )
        assert reamer(report, "C1") == {state: 2}


def test_a_conditional_set_does_not_make_its_instruments_conditional() -> None:
    report = decided(
        BASE,
        tray("BASE/1", arrives="Mon 08:00"),
        wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"),
    )
    assert femur(report, "C1")[0] is CONDITIONAL
    assert reamer(report, "C1") == {"held": 1}


def test_the_sets_of_a_case_claim_before_its_instruments() -> None:
    """The only way to the reamer would cost the case its cup set: the set has the tray."""
    report = decided(
        kind("BASE", "REAM-12"),
        ADD,
        tray("BASE/1"),
        tray("ADD/1"),
        wants("C1", "Tue 08:00", "REAM-12", sets=("ADD or BASE", "ADD")),
    )
    assert [each.trays for each in report.case("C1").sets] == [("BASE/1",), ("ADD/1",)]
    assert reamer(report, "C1") == {"held": 1}


def test_planned_instruments_of_all_cases_come_before_contingency_ones() -> None:
    """One whole tray: C1, though first, wants its reamer only if things turn another way."""
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2", missing="REAM-12"),
        wants("C1", "Tue 08:00", contingency="REAM-12", priority=Priority.URGENT, sets="BASE"),
        wants("C2", "Tue 09:00", planned="REAM-12", sets="BASE"),
    )
    assert reamer(report, "C1", CONTINGENCY) == {"short": 1}
    assert reamer(report, "C2") == {"held": 1}


@pytest.mark.parametrize(("there", "state"), [(3, "held"), (2, "short")])
def test_a_contingency_instrument_is_for_planned_and_excess_together(
    there: int, state: str
) -> None:
    """Planned 1, contingency 3: two more, and all three must be there."""
    report = decided(
        kind("BASE", " ".join(["REAM-12"] * there)),
        tray("BASE/1"),
        wants("C1", "Tue 08:00", "REAM-12", contingency={"REAM-12": 3}, sets="BASE"),
    )
    assert reamer(report, "C1") == {"held": 1}
    assert reamer(report, "C1", CONTINGENCY) == {state: 2}


# -- supplementary packs ---------------------------------------------------------------------------


def test_a_pack_fills_what_the_trays_lack() -> None:
    report = decided(
        BASE,
        SINGLE,
        LACKS_IT,
        tray("SP/1"),
        wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"),
    )
    assert reamer(report, "C1") == {"held": 1}
    assert report.case("C1").packs == ("SP/1",)


@pytest.mark.parametrize(
    "awaited",
    [tray("SP/1", arrives="Mon 08:00"), tray("SP/1", ready="Tue 12:00", sterile_until="Tue 13:00")],
    ids=["awaited", "fast track"],
)
def test_a_conditional_pack_makes_the_instrument_conditional(awaited: Tray) -> None:
    report = decided(
        BASE, SINGLE, LACKS_IT, awaited, wants("C1", "Tue 15:00", planned="REAM-12", sets="BASE")
    )
    assert femur(report, "C1")[0] is HELD
    assert reamer(report, "C1") == {"conditional": 1}


def test_a_pack_may_meet_the_instruments_of_a_set_that_is_short() -> None:
    report = decided(
        SINGLE, BASE, tray("SP/1"), wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE")
    )
    assert femur(report, "C1")[0] is SHORT
    assert reamer(report, "C1") == {"held": 1}


def test_no_more_packs_than_needed_and_the_lowest_code() -> None:
    report = decided(
        BASE,
        SINGLE,
        LACKS_IT,
        tray("SP/2"),
        tray("SP/1"),
        wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"),
    )
    assert report.case("C1").packs == ("SP/1",)


def test_a_whole_tray_is_preferred_to_a_pack() -> None:
    report = decided(
        BASE,
        SINGLE,
        LACKS_IT,
        tray("BASE/2"),
        tray("SP/1"),
        wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/2",))
    assert report.case("C1").packs == ()


def test_a_pack_is_turned_round_like_a_tray() -> None:
    report = decided(
        BASE,
        SINGLE,
        tray("BASE/1", missing="REAM-12"),
        tray("BASE/2", missing="REAM-12"),
        tray("SP/1"),
        wants("C1", "Tue 08:00", planned="REAM-12", sets="BASE"),
        wants("C2", "Tue 13:15", planned="REAM-12", sets="BASE"),
    )
    assert reamer(report, "C1") == {"held": 1}
    assert reamer(report, "C2") == {"conditional": 1}


def test_packs_add_up() -> None:
    asked = wants("C1", "Tue 08:00", {"REAM-12": 2}, sets="BASE")
    report = decided(BASE, SINGLE, LACKS_IT, tray("SP/1"), tray("SP/2"), asked)
    assert reamer(report, "C1") == {"held": 2}
    assert report.case("C1").packs == ("SP/1", "SP/2")
