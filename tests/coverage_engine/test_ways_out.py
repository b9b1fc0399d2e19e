"""Ways out by boxes and reservations: what is offered, by when, and that it works."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from scheduling.coverage.changes import (
    MoveCase,
    OrderUnits,
    ReleaseReservation,
    SwapTrays,
    Together,
    UnitBy,
    UseOption,
)
from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.engine import Decision
from scheduling.coverage.ways_out import ways_out
from tests.coverage_engine.asking_ways_out import (
    AT_RISK,
    COVERED,
    FEMORAL,
    MINUTE,
    NO_SET,
    NO_SPARE,
    NOT_COVERED,
    REAMER_IF_NEEDED,
    STAND_ONLY,
    at,
    found,
    only,
    verdicts,
)
from tests.coverage_engine.one_house import (
    HEAD,
    STEM,
    Entry,
    box,
    case,
    decided,
    rule,
    technique,
    tray,
)

# -- who is asked -----------------------------------------------------------------------------


def test_a_covered_case_has_no_way_out_and_costs_no_try() -> None:
    decision = decided(
        case("A", "02T08:30", components=STEM), techniques=[NO_SET], shelf=[box("STEM-12/1")]
    )
    assert decision.report.case("A").verdict is COVERED
    assert (ways_out(decision, "A").ways, ways_out(decision, "A").tries) == ((), 0)


def test_a_fault_is_mended_in_the_plan_and_nowhere_else() -> None:
    plan = {"stem": {"size": 99}}
    decision = decided(case("A", "05T08:30", components=plan | HEAD), techniques=[NO_SET])
    assert decision.report.case("A").faults
    assert ways_out(decision, "A").ways == ()


def test_a_case_that_is_not_booked() -> None:
    decision = decided(case("A", "02T08:30"), techniques=[NO_SET])
    with pytest.raises(KeyError):
        ways_out(decision, "B")


# -- order ------------------------------------------------------------------------------------


def test_order_by_the_last_moment_at_which_it_comes_in_time() -> None:
    """Needed Fri 07:30; two working days from Tuesday's cut-off is Thursday noon."""
    decision = decided(case("A", "05T08:30", components=STEM), techniques=[NO_SET])
    way = only(decision, "A", OrderUnits)
    assert way.change == OrderUnits("STEM-12", 1, at("02T16:00"), at("04T12:00"), "A")
    assert (way.then, way.meanwhile) == ({"A": COVERED}, {"A": AT_RISK})
    orders = Clock(decision.scenario.site).orders_with(None)
    assert moment(orders.delivery(minute(way.change.by), 2)) == at("04T12:00")
    assert moment(orders.delivery(minute(way.change.by) + 1, 2)) > at("05T07:30")


def test_order_over_a_closed_date_and_a_weekend() -> None:
    """Needed Tue 07:30; Monday is closed, so Friday is the day before: order on Wednesday."""
    decision = decided(
        case("A", "09T08:30", components=STEM),
        techniques=[NO_SET],
        site={"closed_dates": ["2027-03-08"]},
    )
    way = only(decision, "A", OrderUnits)
    assert (way.change.by, way.change.arrives) == (at("03T16:00"), at("05T12:00"))


@pytest.mark.parametrize(
    ("supplier", "by"),
    [
        ({"order_cut_off": "11:00"}, at("02T11:00")),
        ({"closed_dates": ["2027-03-02"]}, at("01T16:00")),
        ({"order_cut_off": "11:00", "closed_dates": ["2027-03-02"]}, at("01T11:00")),
        ({}, at("02T16:00")),
    ],
)
def test_an_order_keeps_to_the_suppliers_cut_off_and_closed_dates(
    supplier: Entry, by: datetime
) -> None:
    """Needed Fri 07:30, two working days: the house would order until Tuesday, 16:00."""
    decision = of_supplier(case("A", "05T08:30", components=STEM), supplier)
    assert only(decision, "A", OrderUnits).change.by == by


def test_past_the_suppliers_cut_off_the_earliest_start_is_a_day_later() -> None:
    """It is Monday 07:00.  Ordered today, the stem would be here on Wednesday noon, in time for a
    start at 13:00; but the supplier takes orders until 06:00, so it is Thursday, 13:00."""
    late = case("A", "02T08:30", components=STEM)
    evening = case("B", "01T18:00")
    ways = [
        only(of_supplier(late, supplier, evening), "A", Together)
        for supplier in ({}, {"order_cut_off": "06:00"})
    ]
    assert [way.change.steps for way in ways] == [
        (
            MoveCase("A", at("03T13:00")),
            OrderUnits("STEM-12", 1, at("01T16:00"), at("03T12:00"), "A"),
        ),
        (
            MoveCase("A", at("04T13:00")),
            OrderUnits("STEM-12", 1, at("02T06:00"), at("04T12:00"), "A"),
        ),
    ]


def of_supplier(wanting: Entry, supplier: Entry, *others: Entry) -> Decision:
    """The stem, which takes two working days, comes from one supplier."""
    stem = {"ref": "STEM-12", "role": "stem", "size": 12, "lead_days": 2, "supplier": "NORTH"}
    return decided(
        wanting,
        *others,
        techniques=[NO_SET],
        implants=[stem],
        suppliers=[{"code": "NORTH", **supplier}],
    )


def test_nothing_can_be_ordered_that_has_no_lead_time() -> None:
    implants = [{"ref": "STEM-12", "role": "stem", "size": 12}]
    decision = decided(
        case("A", "05T08:30", components=STEM), techniques=[NO_SET], implants=implants
    )
    assert ways_out(decision, "A").ways == ()


def test_no_more_are_ordered_than_are_missing() -> None:
    plan = {"stem": {"size": 12, "quantity": 3}}
    decision = decided(
        case("A", "05T08:30", components=plan), techniques=[NO_SET], shelf=[box("STEM-12/1")]
    )
    assert [way.change.quantity for way in found(decision, "A", OrderUnits)] == [2]


def test_one_box_for_the_planned_stem_two_with_its_spare() -> None:
    decision = decided(
        case("A", "05T08:30", components=STEM), techniques=[technique("T", rule("stem", "spare"))]
    )
    ways = found(decision, "A", OrderUnits)
    assert [(way.change.quantity, way.then) for way in ways] == [
        (2, {"A": COVERED}),
        (1, {"A": NO_SPARE}),
    ]


def test_for_a_spare_only_a_box_is_offered_and_no_other_time() -> None:
    decision = decided(
        case("A", "05T08:30", components=STEM),
        case("B", "02T08:30", components=STEM),
        techniques=[technique("T", rule("stem", "spare"))],
        shelf=[box("STEM-12/1"), box("STEM-12/2")],
    )
    assert decision.report.case("A").verdict is NO_SPARE
    assert [type(way.change) for way in ways_out(decision, "A").ways] == [OrderUnits]


def test_an_ordered_box_is_not_counted_for_a_case_that_needs_it_before_it_comes() -> None:
    """B is more urgent and first; it would take the box if it could."""
    decision = decided(
        case("A", "05T08:30", components=STEM),
        case("B", "02T08:30", components=STEM, priority="urgent"),
        techniques=[NO_SET],
    )
    assert only(decision, "A", OrderUnits).then == {"A": COVERED}
    assert found(decision, "B", OrderUnits) == []


def test_two_gaps_are_closed_by_two_orders_together() -> None:
    decision = decided(case("A", "05T08:30", components=STEM | HEAD), techniques=[NO_SET])
    way = only(decision, "A", Together)
    assert way.change.steps == (
        OrderUnits("HEAD-36", 1, at("03T16:00"), at("04T12:00"), "A"),
        OrderUnits("STEM-12", 1, at("02T16:00"), at("04T12:00"), "A"),
    )
    assert (way.then, way.meanwhile) == ({"A": COVERED}, {"A": AT_RISK})


def test_where_one_gap_cannot_be_closed_the_step_for_the_other_is_partial() -> None:
    implants = [
        {"ref": "STEM-12", "role": "stem", "size": 12, "lead_days": 2},
        {"ref": "HEAD-36", "role": "head", "diameter": 36},
    ]
    decision = decided(
        case("A", "05T08:30", components=STEM | HEAD), techniques=[NO_SET], implants=implants
    )
    (way,) = ways_out(decision, "A").ways
    assert isinstance(way.change, OrderUnits)
    assert (way.partial, dict(way.then), len(way.closes)) == (True, {}, 1)


# -- boxes that are late ----------------------------------------------------------------------


@pytest.mark.parametrize("arrives", ["2027-02-26T12:00", "2027-03-05T12:00"])
def test_a_box_that_is_overdue_or_late_is_to_be_here_when_it_is_needed(arrives: str) -> None:
    decision = decided(
        case("A", "05T08:30", components=STEM),
        techniques=[NO_SET],
        shelf=[box("STEM-12/1", arrives=arrives)],
    )
    way = only(decision, "A", UnitBy)
    assert way.change == UnitBy("STEM-12/1", "STEM-12", "A", at("05T07:30"))
    assert (way.then, way.meanwhile) == ({"A": COVERED}, {"A": AT_RISK})
    late = replace(way.change, by=way.change.by + MINUTE).meanwhile()
    assert verdicts(decision, late) == {}


def test_a_box_that_the_case_depends_on() -> None:
    decision = decided(
        case("A", "05T08:30", components=STEM),
        techniques=[NO_SET],
        shelf=[box("STEM-12/1", arrives="2027-03-03T12:00")],
    )
    assert only(decision, "A", UnitBy).then == {"A": COVERED}


# -- reservations -----------------------------------------------------------------------------


def test_an_urgent_case_needs_a_box_that_is_reserved_and_says_what_it_costs() -> None:
    decision = decided(
        case("A", "04T08:30", components=STEM, reserved_units=["STEM-12/1"]),
        case("B", "02T08:30", components=STEM, priority="urgent"),
        techniques=[NO_SET],
        shelf=[box("STEM-12/1")],
    )
    way = only(decision, "B", ReleaseReservation)
    assert way.change == ReleaseReservation("A", units=("STEM-12/1",))
    assert (way.then, way.costs) == ({"A": NOT_COVERED, "B": COVERED}, ("A",))


def test_nothing_is_taken_from_a_more_urgent_case() -> None:
    decision = decided(
        case("A", "04T08:30", components=STEM, priority="urgent", reserved_units=["STEM-12/1"]),
        case("B", "02T08:30", components=STEM, reserved_units=[]),
        techniques=[NO_SET],
        shelf=[box("STEM-12/1")],
    )
    assert found(decision, "B", ReleaseReservation) == []


def test_a_case_is_held_by_its_own_reservation_to_a_box_still_to_come() -> None:
    decision = decided(
        case("A", "05T08:30", components=STEM, reserved_units=["STEM-12/2"]),
        techniques=[NO_SET],
        shelf=[box("STEM-12/1"), box("STEM-12/2", arrives="2027-03-03T12:00")],
    )
    first = ways_out(decision, "A").ways[0]
    assert first.change == ReleaseReservation("A", units=("STEM-12/2",))
    assert (first.then, first.costs) == ({"A": COVERED}, ())


def test_a_case_is_held_by_its_own_reservation_to_a_tray_still_to_come() -> None:
    """The stand-alone set is a loan; base and add-on are here."""
    decision = decided(
        case("A", "05T08:30", reserved_trays=["STAND/1"]),
        techniques=[FEMORAL],
        trays=[tray("STAND/1", arrives="2027-03-02T12:00"), tray("BASE/1"), tray("ADD/1")],
    )
    way = only(decision, "A", UseOption)
    assert way.change == UseOption("A", "femoral", ("BASE", "ADD"), ("STAND/1",))
    assert way.then == {"A": COVERED}


def test_another_case_can_use_another_option() -> None:
    """B has no choice; A has, but has reserved what B needs."""
    decision = decided(
        case("A", "02T08:30", reserved_trays=["STAND/1"]),
        case("B", "02T08:30", technique="ONLY"),
        techniques=[FEMORAL, STAND_ONLY | {"code": "ONLY"}],
        trays=[tray("STAND/1"), tray("BASE/1"), tray("ADD/1")],
    )
    assert decision.report.case("B").verdict is NOT_COVERED
    way = only(decision, "B", UseOption)
    assert way.change == UseOption("A", "femoral", ("BASE", "ADD"), ("STAND/1",))
    assert (way.then, way.costs) == ({"B": COVERED}, ())


def test_two_trays_are_swapped_where_the_reserved_one_holds_what_this_case_lacks() -> None:
    decision = decided(
        case("A", "02T08:30", technique="NONE", reserved_trays=["STAND/1"]),
        case("B", "02T08:30"),
        techniques=[STAND_ONLY, REAMER_IF_NEEDED | {"code": "NONE"}],
        trays=[tray("STAND/1"), tray("STAND/2", missing={"REAM-14": 1})],
    )
    first = ways_out(decision, "B").ways[0]
    assert first.change == SwapTrays("B", "STAND/2", "A", "STAND/1")
    assert (first.then, first.costs) == ({"B": COVERED}, ())


def test_a_swap_that_makes_another_case_worse_comes_after_what_costs_nobody() -> None:
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T08:30", priority="elective"),
        techniques=[STAND_ONLY],
        trays=[tray("STAND/1"), tray("STAND/2", missing={"REAM-14": 1})],
    )
    ways = ways_out(decision, "B").ways
    swap = only(decision, "B", SwapTrays)
    assert (swap.then, swap.costs) == ({"A": NOT_COVERED, "B": COVERED}, ("A",))
    assert ways[-1] == swap
    assert len(ways) > 1


def test_a_way_never_breaks_a_reservation_that_it_does_not_name() -> None:
    """Z has reserved the full tray for the same hour; a swap with A would take it from Z."""
    decision = decided(
        case("A", "01T10:00", technique="NONE"),
        case("B", "02T08:30"),
        case("Z", "02T08:30", technique="NONE", reserved_trays=["STAND/1"]),
        techniques=[STAND_ONLY, REAMER_IF_NEEDED | {"code": "NONE"}],
        trays=[tray("STAND/1"), tray("STAND/2", missing={"REAM-14": 1})],
    )
    assert [way.change.other for way in found(decision, "B", SwapTrays)] == ["Z"]
