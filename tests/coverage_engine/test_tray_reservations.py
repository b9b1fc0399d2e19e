"""Reserved trays and packs: promised before everything else, or told and binding nobody."""

from __future__ import annotations

import pytest

from scheduling.coverage.values import Priority, Tray
from tests.coverage_engine.build import tray, wants
from tests.coverage_engine.tray_store import (
    ADD,
    ALONE,
    BASE,
    CONDITIONAL,
    HELD,
    SHORT,
    SINGLE,
    decided,
    femur,
    notes,
    reamer,
)

# -- reservations ----------------------------------------------------------------------------------


def test_a_reserved_tray_is_among_the_trays_of_the_set() -> None:
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2"),
        wants("C1", "Tue 08:00", reserved_trays="BASE/2", sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/2",))


def test_a_reservation_comes_before_the_claim_of_a_more_urgent_case() -> None:
    report = decided(
        BASE,
        tray("BASE/1"),
        wants("C1", "Tue 08:00", reserved_trays="BASE/1", sets="BASE"),
        wants("C2", "Tue 08:00", priority=Priority.IMMEDIATE, sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/1",))
    assert femur(report, "C2") == (SHORT, ())


def test_a_reservation_chooses_the_option_that_names_the_configuration() -> None:
    report = decided(
        BASE,
        ALONE,
        tray("BASE/1"),
        tray("ALONE/1"),
        wants("C1", "Tue 08:00", sets="BASE or ALONE", reserved_trays="ALONE/1"),
    )
    assert femur(report, "C1") == (HELD, ("ALONE/1",))


def test_a_reservation_is_for_the_first_set_that_names_the_configuration() -> None:
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2"),
        wants("C1", "Tue 08:00", sets=("BASE", "BASE"), reserved_trays="BASE/2"),
    )
    assert [each.trays for each in report.case("C1").sets] == [("BASE/2",), ("BASE/1",)]


def test_a_further_reserved_tray_is_added_to_the_set_at_the_same_status() -> None:
    asked = wants("C1", "Tue 08:00", sets="BASE + ADD", reserved_trays="ADD/2 BASE/2")
    trays = [tray("BASE/1"), tray("BASE/2"), tray("ADD/1"), tray("ADD/2")]
    report = decided(BASE, ADD, *trays, asked)
    assert femur(report, "C1") == (HELD, ("BASE/2", "ADD/2"))
    late = [*trays[:1], tray("BASE/2", arrives="Mon 08:00"), *trays[2:]]
    report = decided(BASE, ADD, *late, asked)
    assert femur(report, "C1") == (HELD, ("BASE/1", "ADD/2"))
    assert notes(report, "C1") == ["the reservation of BASE/2 cannot be honoured and binds nobody"]


def test_a_reserved_tray_may_be_conditional() -> None:
    """It was promised by its code: a free tray beside it does not change that."""
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2", arrives="Mon 08:00"),
        wants("C1", "Tue 08:00", reserved_trays="BASE/2", sets="BASE"),
    )
    assert femur(report, "C1") == (CONDITIONAL, ("BASE/2",))


@pytest.mark.parametrize(
    "reserved",
    [
        tray("BASE/9", withdrawn=True),
        tray("BASE/9", ready="Tue 07:01"),
        tray("BASE/9", arrives="Mon 05:00"),
        tray("ADD/9"),
    ],
    ids=["withdrawn", "too late", "overdue", "no set names it"],
)
def test_a_reservation_that_cannot_be_met_is_told_and_binds_nobody(reserved: Tray) -> None:
    report = decided(
        BASE,
        ADD,
        tray("BASE/1"),
        reserved,
        wants("C1", "Tue 08:00", reserved_trays=reserved.code, sets="BASE"),
        wants("C2", "Wed 08:00", sets="ADD"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/1",))
    assert notes(report, "C1") == [
        f"the reservation of {reserved.code} cannot be honoured and binds nobody"
    ]
    assert femur(report, "C2")[0] is (HELD if reserved.code == "ADD/9" else SHORT)


def test_a_reserved_pack_is_claimed_whether_needed_or_not() -> None:
    report = decided(
        BASE,
        SINGLE,
        tray("BASE/1"),
        tray("SP/1"),
        wants("C1", "Tue 08:00", reserved_trays="SP/1", planned="REAM-12", sets="BASE"),
        wants("C2", "Tue 08:00", "REAM-12"),
    )
    assert report.case("C1").packs == ("SP/1",)
    assert reamer(report, "C2") == {"short": 1}


def test_a_tray_that_another_case_has_reserved_is_kept_though_it_lacks_nothing_for_this_one() -> (
    None
):
    """BASE/1 is the only whole one; it is reserved, so the case that needs the reamer is short."""
    report = decided(
        BASE,
        tray("BASE/1"),
        tray("BASE/2", missing="REAM-12"),
        wants("C1", "Tue 08:00", reserved_trays="BASE/1", sets="BASE"),
        wants("C2", "Tue 08:00", priority=Priority.IMMEDIATE, planned="REAM-12", sets="BASE"),
    )
    assert femur(report, "C2") == (HELD, ("BASE/2",))
    assert reamer(report, "C2") == {"short": 1}
