"""Sharing: which box a short contingency may lean on, and which it never may."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Need, Priority, Supplier
from tests.coverage_engine.build import (
    Entry,
    box,
    counts,
    implant,
    line,
    scenario,
    site,
    wants,
)

STEM = "STEM-12"
ONE = {STEM: 1}
PLAIN = implant(STEM, lead_days=1)
REPLACED = implant(STEM, lead_days=1, replaced_on_use=True)


def decided(*entries: Entry | list[Entry], shelf_return_minutes: int = 60) -> Report:
    return decide(scenario(*entries, at_site=site(shelf_return_minutes=shelf_return_minutes)))


def state(report: Report, case: str) -> dict[str, int]:
    return counts(line(report, case, Need.CONTINGENCY, STEM))


def leans(report: Report, case: str) -> list[tuple[str, str]]:
    """The boxes that the case leans on, each with the case that has it first."""
    found = line(report, case, Need.CONTINGENCY, STEM)
    return [(lean.unit, lean.case) for lean in found.leans_on]


# C1 ends at 10:00, is out at 10:15 and its unused boxes are back on the shelf at 11:15.
FIRST = wants("C1", "Tue 08:00", contingency=ONE)


# -- returned in time -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "expected"), [("Tue 12:15", {"shared": 1}), ("Tue 12:14", {"short": 1})]
)
def test_a_box_is_shared_if_it_is_back_by_needed_by(start: str, expected: dict[str, int]) -> None:
    report = decided(PLAIN, box("U1", STEM), FIRST, wants("C2", start, contingency=ONE))
    assert state(report, "C1") == {"held": 1}
    assert state(report, "C2") == expected
    assert leans(report, "C2") == ([("U1", "C1")] if "shared" in expected else [])


def test_a_later_case_waits_for_every_one_that_leans_already() -> None:
    """C3 would have the box back from C1, but not from C2, which leans on it by then."""
    second = wants("C2", "Tue 12:15", contingency=ONE)
    soon_after = wants("C3", "Tue 13:00", contingency=ONE)
    after_both = wants("C3", "Tue 16:30", contingency=ONE)
    assert state(decided(PLAIN, box("U1", STEM), FIRST, second, soon_after), "C3") == {"short": 1}
    report = decided(PLAIN, box("U1", STEM), FIRST, second, after_both)
    assert state(report, "C3") == {"shared": 1}
    assert leans(report, "C3") == [("U1", "C1")]


def test_an_earlier_case_may_lean_on_a_later_one_if_that_has_returned_it() -> None:
    """It never has: C2 claims first as the more urgent, and operates after C1."""
    report = decided(
        PLAIN,
        box("U1", STEM),
        FIRST,
        wants("C2", "Wed 08:00", contingency=ONE, priority=Priority.URGENT),
    )
    assert state(report, "C2") == {"held": 1}
    assert state(report, "C1") == {"short": 1}


# -- replaced on use ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        ("Wed 13:00", {"held": 1}),  # ordered Tuesday 10:15, delivered Wednesday noon
        ("Wed 12:59", {"shared": 1}),  # a minute too early for the replacement, not the return
    ],
)
def test_a_box_whose_use_is_replaced_in_time_counts_as_held(
    start: str, expected: dict[str, int]
) -> None:
    report = decided(REPLACED, box("U1", STEM), FIRST, wants("C2", start, contingency=ONE))
    assert state(report, "C2") == expected
    assert leans(report, "C2") == [("U1", "C1")]


def test_a_replacement_is_sent_as_the_supplier_takes_orders() -> None:
    """C1 is out at 10:15, past the supplier's 10:00: the replacement comes on Thursday noon."""
    early = replace(REPLACED, supplier=Supplier("NORTH", 10 * 60))
    for start, expected in (("Wed 13:00", {"shared": 1}), ("Thu 13:00", {"held": 1})):
        second = wants("C2", start, contingency=ONE)
        assert state(decided(early, box("U1", STEM), FIRST, second), "C2") == expected


def test_a_replacement_may_come_before_the_box_is_returned() -> None:
    """Back on the shelf only after three days, but a use is replaced the next day."""
    report = decided(
        REPLACED,
        box("U1", STEM),
        FIRST,
        wants("C2", "Wed 13:00", contingency=ONE),
        shelf_return_minutes=3 * 24 * 60,
    )
    assert state(report, "C2") == {"held": 1}


def test_every_user_must_be_replaced_in_time_or_every_user_returned() -> None:
    """From C1 only a replacement is in time for C3, from C2 only the return is: neither holds."""
    first = wants("C1", "Mon 08:00", contingency=ONE, minutes=60)
    second = wants("C2", "Tue 13:00", contingency=ONE, minutes=60)
    third = wants("C3", "Tue 18:00", contingency=ONE)
    returned = decided(REPLACED, box("U1", STEM), first, second, third)
    assert state(returned, "C2") == {"held": 1}
    assert state(returned, "C3") == {"shared": 1}
    slow = decided(REPLACED, box("U1", STEM), first, second, third, shelf_return_minutes=24 * 60)
    assert state(slow, "C2") == {"held": 1}
    assert state(slow, "C3") == {"short": 1}


def test_a_standing_arrangement_without_a_lead_is_no_replacement() -> None:
    no_lead = implant(STEM, replaced_on_use=True)
    report = decided(no_lead, box("U1", STEM), FIRST, wants("C2", "Fri 08:00", contingency=ONE))
    assert state(report, "C2") == {"shared": 1}


# -- never ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("item", [PLAIN, REPLACED], ids=["returned", "replaced"])
def test_a_planned_unit_is_never_lent(item: Entry) -> None:
    report = decided(
        item,
        box("U1", STEM),
        wants("C1", "Tue 08:00", STEM),
        wants("C2", "Fri 08:00", contingency=ONE),
    )
    assert state(report, "C2") == {"short": 1}


def test_nor_is_a_spare() -> None:
    """A spare claims after every contingency; only a reservation lets it have the box."""
    report = decided(
        REPLACED,
        box("U1", STEM),
        wants("C1", "Tue 08:00", spare=STEM, reserved_units="U1"),
        wants("C2", "Fri 08:00", contingency=ONE),
    )
    assert state(report, "C2") == {"short": 1}


def test_nor_is_a_box_on_order() -> None:
    report = decided(
        REPLACED,
        box("U1", STEM, arrives="Mon 12:00"),
        FIRST,
        wants("C2", "Fri 08:00", contingency=ONE),
    )
    assert state(report, "C1") == {"conditional": 1}
    assert state(report, "C2") == {"short": 1}


def test_nor_is_a_box_out_of_date_for_the_borrower() -> None:
    for expiry, expected in ((date(2027, 3, 4), {"short": 1}), (date(2027, 3, 5), {"shared": 1})):
        report = decided(
            PLAIN,
            box("U1", STEM, expiry=expiry),
            FIRST,
            wants("C2", "Fri 08:00", contingency=ONE),
        )
        assert state(report, "C2") == expected


def test_planned_and_spare_lines_do_not_lean() -> None:
    report = decided(
        REPLACED,
        box("U1", STEM),
        wants("C1", "Tue 08:00", contingency=ONE, reserved_units="U1"),
        wants("C2", "Fri 08:00", STEM),
        wants("C3", "Fri 08:00", spare=STEM),
    )
    assert counts(line(report, "C2", Need.PLANNED, STEM)) == {"short": 1}
    assert counts(line(report, "C3", Need.SPARE, STEM)) == {"short": 1}


def test_a_case_does_not_lean_on_its_own_box() -> None:
    report = decided(REPLACED, box("U1", STEM), wants("C1", "Tue 08:00", contingency={STEM: 2}))
    assert state(report, "C1") == {"held": 1, "short": 1}


def test_nor_twice_on_the_same_box() -> None:
    report = decided(PLAIN, box("U1", STEM), FIRST, wants("C2", "Fri 08:00", contingency={STEM: 2}))
    assert state(report, "C2") == {"shared": 1, "short": 1}


# -- which box, and who first ---------------------------------------------------------------------


def test_a_replaceable_box_comes_before_one_that_is_merely_returned() -> None:
    """U1 expires first, but its use on Thursday would not be replaced by Friday morning."""
    report = decided(
        REPLACED,
        box("U1", STEM, expiry=date(2027, 6, 1)),
        box("U2", STEM, expiry=date(2027, 12, 1)),
        wants("C1", "Thu 08:00", contingency=ONE, reserved_units="U1"),
        wants("C2", "Tue 08:00", contingency=ONE, reserved_units="U2"),
        wants("C3", "Fri 08:00", contingency=ONE),
    )
    assert leans(report, "C3") == [("U2", "C2")]
    assert state(report, "C3") == {"held": 1}


def test_of_equals_the_first_expiring_box_then_the_lower_code() -> None:
    def pair(first: date, second: date) -> list[tuple[str, str]]:
        report = decided(
            PLAIN,
            box("U1", STEM, expiry=first),
            box("U2", STEM, expiry=second),
            wants("C1", "Tue 08:00", contingency={STEM: 2}),
            wants("C2", "Fri 08:00", contingency=ONE),
        )
        return leans(report, "C2")

    assert pair(date(2027, 12, 1), date(2027, 6, 1)) == [("U2", "C1")]
    assert pair(date(2027, 6, 1), date(2027, 12, 1)) == [("U1", "C1")]
    assert pair(date(2027, 6, 1), date(2027, 6, 1)) == [("U1", "C1")]


def test_borrowers_choose_in_time_order_whatever_their_class() -> None:
    """One box and two that would borrow it, of which only the earlier one finds it free."""
    report = decided(
        PLAIN,
        box("U1", STEM),
        wants("C1", "Mon 09:00", contingency=ONE, priority=Priority.IMMEDIATE),
        wants("C2", "Tue 13:00", contingency=ONE, priority=Priority.URGENT),
        wants("C3", "Tue 12:30", contingency=ONE),
    )
    assert state(report, "C3") == {"shared": 1}
    assert state(report, "C2") == {"short": 1}


def test_at_the_same_start_the_lower_reference_chooses_first() -> None:
    report = decided(
        PLAIN,
        box("U1", STEM),
        FIRST,
        wants("C3", "Wed 08:00", contingency=ONE),
        wants("C2", "Wed 08:00", contingency=ONE),
    )
    assert state(report, "C2") == {"shared": 1}
    assert state(report, "C3") == {"short": 1}
