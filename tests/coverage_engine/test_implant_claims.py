"""Implant claims: in which order, from which box, and which box serves whom."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Need, Priority, Unit
from tests.coverage_engine.build import (
    Entry,
    at,
    box,
    counts,
    implant,
    line,
    said,
    scenario,
    site,
    wants,
)

STEM = "STEM-12"
PLANNED, CONTINGENCY, SPARE = Need.PLANNED, Need.CONTINGENCY, Need.SPARE


def decided(*entries: Entry | list[Entry], now: str = "Mon 06:00", zone: str = "UTC") -> Report:
    return decide(scenario(implant(STEM), *entries, at_site=site(now, timezone=zone)))


def served(report: Report, need: Need = PLANNED) -> dict[str, str]:
    """Case → the boxes that serve its line of this level."""
    return {
        each.case: " ".join(found.units)
        for each in report.cases
        for found in each.lines
        if found.need is need
    }


# -- claim order ----------------------------------------------------------------------------------


def test_within_a_level_the_case_with_precedence_claims_first() -> None:
    report = decided(
        box("U1", STEM),
        wants("C1", "Tue 08:00", STEM),
        wants("C2", "Tue 12:00", STEM, priority=Priority.URGENT),
    )
    assert served(report) == {"C1": "", "C2": "U1"}


def test_of_the_same_class_the_earlier_start_claims_first_then_the_lower_reference() -> None:
    report = decided(
        box("U1", STEM),
        box("U2", STEM),
        wants("C3", "Tue 08:00", STEM),
        wants("C2", "Tue 12:00", STEM),
        wants("C1", "Tue 12:00", STEM),
    )
    assert served(report) == {"C3": "U1", "C1": "U2", "C2": ""}


def test_planned_units_of_all_cases_come_before_any_contingency_and_these_before_spares() -> None:
    first = wants("C1", "Tue 08:00", contingency={STEM: 1}, priority=Priority.IMMEDIATE)
    second = wants("C2", "Tue 12:00", spare=STEM, priority=Priority.IMMEDIATE)
    third = wants("C3", "Wed 08:00", STEM)
    one = decided(box("U1", STEM), first, second, third)
    assert counts(line(one, "C1", CONTINGENCY, STEM)) == {"short": 1}
    assert counts(line(one, "C2", SPARE, STEM)) == {"short": 1}
    assert counts(line(one, "C3", PLANNED, STEM)) == {"held": 1}
    two = decided(box("U1", STEM), box("U2", STEM), first, second, third)
    assert counts(line(two, "C1", CONTINGENCY, STEM)) == {"held": 1}
    assert counts(line(two, "C2", SPARE, STEM)) == {"short": 1}


def test_one_claim_a_unit() -> None:
    """The first case wants three and there are two: it has both, the next has none."""
    report = decided(
        box("U1", STEM),
        box("U2", STEM),
        wants("C1", "Tue 08:00", {STEM: 3}),
        wants("C2", "Tue 12:00", STEM),
    )
    assert counts(line(report, "C1", PLANNED, STEM)) == {"held": 2, "short": 1}
    assert counts(line(report, "C2", PLANNED, STEM)) == {"short": 1}


def test_an_earlier_claim_is_moved_so_that_a_later_one_is_let_in() -> None:
    """C1 claims first and would have U1; C2 can only have U1, so C1 moves to U2."""
    report = decided(
        box("U1", STEM, arrives="Mon 12:00", expiry=date(2027, 6, 1)),
        box("U2", STEM, arrives="Wed 12:00", expiry=date(2027, 12, 1)),
        wants("C1", "Thu 08:00", STEM, priority=Priority.URGENT),
        wants("C2", "Tue 08:00", STEM),
    )
    assert served(report) == {"C1": "U2", "C2": "U1"}


def test_an_earlier_claim_is_never_broken_for_a_later_one() -> None:
    report = decided(
        box("U1", STEM),
        wants("C1", "Thu 08:00", STEM, priority=Priority.URGENT),
        wants("C2", "Tue 08:00", STEM),
    )
    assert served(report) == {"C1": "U1", "C2": ""}


# -- which boxes may serve ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("expiry", "serves"),
    [(date(2027, 3, 1), False), (date(2027, 3, 2), True), (None, True)],
    ids=["the day before", "the day itself", "does not expire"],
)
def test_use_by_is_inclusive(expiry: date | None, serves: bool) -> None:
    report = decided(box("U1", STEM, expiry=expiry), wants("C1", "Tue 08:00", STEM))
    assert bool(served(report)["C1"]) is serves


@pytest.mark.parametrize(
    ("zone", "serves"), [("UTC", True), ("Europe/Berlin", False), ("America/New_York", True)]
)
def test_the_day_is_the_local_date_of_the_end(zone: str, serves: bool) -> None:
    """Ends on Tuesday at 23:30 UTC, which is Wednesday 00:30 in Berlin."""
    report = decided(
        box("U1", STEM, expiry=date(2027, 3, 2)),
        wants("C1", "Tue 21:30", STEM, minutes=120),
        zone=zone,
    )
    assert bool(served(report)["C1"]) is serves


def test_a_case_over_midnight_needs_what_is_in_date_at_its_end() -> None:
    over_midnight = wants("C1", "Tue 23:00", STEM, minutes=120)
    assert not served(decided(box("U1", STEM, expiry=date(2027, 3, 2)), over_midnight))["C1"]
    assert served(decided(box("U1", STEM, expiry=date(2027, 3, 3)), over_midnight))["C1"]


@pytest.mark.parametrize(
    ("arrives", "state"),
    [
        ("Tue 07:00", "conditional"),  # needed by 07:00
        ("Tue 07:01", "short"),
        ("Mon 06:00", "conditional"),  # now: due, not overdue
        ("Mon 05:59", "short"),  # overdue: no receipt, no box
    ],
)
def test_a_box_on_order_serves_from_now_until_needed_by(arrives: str, state: str) -> None:
    report = decided(box("U1", STEM, arrives=arrives), wants("C1", "Tue 08:00", STEM))
    assert counts(line(report, "C1", PLANNED, STEM)) == {state: 1}


def test_a_box_on_order_must_be_in_date_too() -> None:
    late = box("U1", STEM, arrives="Mon 12:00", expiry=date(2027, 3, 1))
    assert not served(decided(late, wants("C1", "Tue 08:00", STEM)))["C1"]


@pytest.mark.parametrize("arrives", ["", "Mon 12:00"], ids=["on the shelf", "on order"])
def test_a_box_on_hold_serves_nobody(arrives: str) -> None:
    held_back = box("U1", STEM, arrives=arrives, hold="quarantined")
    assert not served(decided(held_back, wants("C1", "Tue 08:00", STEM)))["C1"]


def test_a_claim_asks_the_shelf_first() -> None:
    report = decided(
        box("U1", STEM, arrives="Mon 12:00"),
        box("U2", STEM),
        wants("C1", "Tue 08:00", STEM),
    )
    assert served(report) == {"C1": "U2"}


def test_a_line_may_be_part_held_part_on_order_part_short() -> None:
    report = decided(
        box("U1", STEM),
        box("U2", STEM, arrives="Mon 12:00"),
        wants("C1", "Tue 08:00", {STEM: 3}),
    )
    assert counts(line(report, "C1", PLANNED, STEM)) == {"held": 1, "conditional": 1, "short": 1}
    assert line(report, "C1", PLANNED, STEM).units == ("U1", "U2")


def test_a_later_claim_does_not_push_an_earlier_one_from_the_shelf_to_an_order() -> None:
    report = decided(
        box("U1", STEM),
        box("U2", STEM, arrives="Tue 07:00"),
        wants("C1", "Tue 12:00", STEM, priority=Priority.URGENT),
        wants("C2", "Tue 08:00", STEM),
    )
    assert counts(line(report, "C1", PLANNED, STEM)) == {"held": 1}
    assert counts(line(report, "C2", PLANNED, STEM)) == {"conditional": 1}


# -- reservations ---------------------------------------------------------------------------------


def test_a_reservation_comes_before_every_other_claim() -> None:
    report = decided(
        box("U1", STEM),
        wants("C1", "Tue 08:00", STEM, priority=Priority.IMMEDIATE),
        wants("C2", "Wed 08:00", spare=STEM, reserved_units="U1"),
    )
    assert served(report) == {"C1": ""}
    assert served(report, SPARE) == {"C2": "U1"}


def test_a_reservation_asks_for_its_own_unit_and_no_other() -> None:
    report = decided(
        box("U1", STEM, expiry=date(2027, 6, 1)),
        box("U2", STEM, expiry=date(2027, 12, 1)),
        wants("C1", "Tue 08:00", STEM, reserved_units="U2"),
    )
    assert served(report) == {"C1": "U2"}


def test_a_reserved_unit_serves_the_highest_level_that_still_wants_it() -> None:
    report = decided(
        box("U1", STEM),
        box("U2", STEM),
        box("U3", STEM),
        wants("C1", "Tue 08:00", STEM, contingency={STEM: 2}, spare=STEM, reserved_units="U3 U2"),
    )
    assert served(report) == {"C1": "U2"}
    assert served(report, CONTINGENCY) == {"C1": "U3"}
    assert served(report, SPARE) == {"C1": "U1"}


def test_a_reserved_unit_on_order_stays_on_order() -> None:
    """It is that very box which was promised; the one on the shelf is for others."""
    report = decided(
        box("U1", STEM),
        box("U2", STEM, arrives="Mon 12:00"),
        wants("C1", "Tue 08:00", STEM, reserved_units="U2"),
    )
    assert counts(line(report, "C1", PLANNED, STEM)) == {"conditional": 1}


@pytest.mark.parametrize(
    "unit",
    [
        box("U1", STEM, hold="recalled"),
        box("U1", STEM, expiry=date(2027, 3, 1)),
        box("U1", STEM, arrives="Tue 07:01"),
    ],
    ids=["on hold", "out of date", "too late"],
)
def test_a_reservation_that_cannot_be_honoured_is_told_and_its_need_claimed_like_any_other(
    unit: Unit,
) -> None:
    report = decided(unit, box("U2", STEM), wants("C1", "Tue 08:00", STEM, reserved_units="U1"))
    assert served(report) == {"C1": "U2"}
    assert said(report.case("C1").notes) == [
        "the reservation of U1 cannot be honoured and binds nobody"
    ]


def test_of_two_reservations_of_one_unit_the_case_with_precedence_has_it() -> None:
    report = decided(
        box("U1", STEM),
        wants("C1", "Tue 08:00", STEM, reserved_units="U1"),
        wants("C2", "Tue 12:00", STEM, reserved_units="U1", priority=Priority.URGENT),
    )
    assert served(report) == {"C1": "", "C2": "U1"}
    assert len(report.case("C1").notes) == 1
    assert not report.case("C2").notes


def test_a_reservation_without_a_need_leaves_the_unit_free_and_is_no_refusal() -> None:
    report = decided(
        box("U1", STEM),
        box("U2", STEM),
        wants("C1", "Tue 08:00", STEM, reserved_units="U1 U2"),
        wants("C2", "Tue 12:00", STEM),
        wants("C3", "Tue 12:00", "HEAD-32", reserved_units="U2"),
        implant("HEAD-32"),
    )
    assert served(report)["C1"] == "U1"
    assert served(report)["C2"] == "U2"
    assert not report.case("C1").notes
    assert not report.case("C3").notes


# -- first expiring, first out, with look-ahead ---------------------------------------------------


def test_the_first_case_takes_the_first_expiring_box() -> None:
    report = decided(
        box("U1", STEM, expiry=date(2027, 12, 1)),
        box("U2", STEM, expiry=date(2027, 6, 1)),
        box("U3", STEM),
        wants("C1", "Tue 08:00", STEM),
        wants("C2", "Wed 08:00", STEM),
        wants("C3", "Thu 08:00", STEM),
    )
    assert served(report) == {"C1": "U2", "C2": "U1", "C3": "U3"}


def test_of_the_same_date_the_lower_code_goes_first() -> None:
    same_day = date(2027, 6, 1)
    report = decided(
        box("U2", STEM, expiry=same_day),
        box("U1", STEM, expiry=same_day),
        wants("C1", "Tue 08:00", STEM),
    )
    assert served(report) == {"C1": "U1"}


def test_time_order_gives_out_boxes_whoever_claimed_first() -> None:
    report = decided(
        box("U1", STEM, expiry=date(2027, 6, 1)),
        box("U2", STEM, expiry=date(2027, 12, 1)),
        wants("C1", "Wed 08:00", STEM, priority=Priority.IMMEDIATE),
        wants("C2", "Tue 08:00", STEM),
    )
    assert served(report) == {"C1": "U2", "C2": "U1"}


def test_the_first_expiring_box_is_left_where_another_case_depends_on_it() -> None:
    """C2 has reserved the first expiring box: C1, though earlier, takes the next."""
    report = decided(
        box("U1", STEM, expiry=date(2027, 6, 1)),
        box("U2", STEM, expiry=date(2027, 12, 1)),
        wants("C1", "Tue 08:00", STEM),
        wants("C2", "Wed 08:00", STEM, reserved_units="U1"),
    )
    assert served(report) == {"C1": "U2", "C2": "U1"}


def test_within_a_case_the_higher_level_takes_the_first_expiring_box() -> None:
    report = decided(
        box("U1", STEM, expiry=date(2027, 6, 1)),
        box("U2", STEM, expiry=date(2027, 9, 1)),
        box("U3", STEM, expiry=date(2027, 12, 1)),
        wants("C1", "Tue 08:00", STEM, contingency={STEM: 2}, spare=STEM),
    )
    assert [served(report, need)["C1"] for need in Need] == ["U1", "U2", "U3"]


def test_items_do_not_compete_with_each_other() -> None:
    report = decided(
        box("U1", STEM), box("U2", "STEM-13"), wants("C1", "Tue 08:00", f"{STEM} STEM-13")
    )
    assert {found.item: found.units for found in report.case("C1").lines} == {
        STEM: ("U1",),
        "STEM-13": ("U2",),
    }


def test_the_order_of_the_input_does_not_matter() -> None:
    entries: list[Entry | list[Entry]] = [
        *(box(f"U{n}", STEM, expiry=date(2027, 3, n)) for n in range(1, 6)),
        *(wants(f"C{n}", f"{day} 08:00", STEM) for n, day in enumerate(("Tue", "Wed", "Thu"))),
    ]
    assert decided(*entries) == decided(*reversed(entries))


def lines_of(report: Report) -> Mapping[str, int]:
    return {each.case: len(each.lines) for each in report.cases}


def test_what_is_on_hand_and_not_wanted_is_nobodys_line() -> None:
    report = decided(box("U1", STEM), box("U2", "HEAD-32"), wants("C1", "Tue 08:00", STEM))
    assert lines_of(report) == {"C1": 1}
    assert report.now == at("Mon 06:00")
