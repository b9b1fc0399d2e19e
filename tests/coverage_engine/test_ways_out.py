"""Ways out, kind by kind on a small house: what is offered, by when, and that it works.

`works` decides the changed scenario afresh: what a way claims is what a full run says.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from scheduling.coverage.changes import (
    AddPacks,
    Change,
    FastTrack,
    LoanBy,
    MoveCase,
    OrderUnits,
    ReleaseReservation,
    SwapTrays,
    Together,
    UnitBy,
    UseOption,
)
from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Verdict
from scheduling.coverage.ways_out import Way, ways_out
from scheduling.coverage.ways_out_search import MOST_TRIES
from tests.coverage_engine.one_house import (
    HEAD,
    STEM,
    box,
    case,
    decided,
    rule,
    technique,
    tray,
)

LONDON = ZoneInfo("Europe/London")
MINUTE = timedelta(minutes=1)
FEMORAL = technique("T", rule("reamer"), options=[["STAND"], ["BASE", "ADD"]])
STAND_ONLY = technique("T", rule("reamer"), options=[["STAND"]])
REAMER_IF_NEEDED = technique("T", options=[["STAND"]])
NO_SET = technique("T")

COVERED, NO_SPARE = Verdict.COVERED, Verdict.NO_SPARE
AT_RISK, NOT_COVERED = Verdict.AT_RISK, Verdict.NOT_COVERED


def at(text: str) -> datetime:
    """`02T16:00`: a local time in March 2027."""
    return datetime.fromisoformat(f"2027-03-{text}").replace(tzinfo=LONDON)


def verdicts(decision: Decision, change: Change) -> dict[str, Verdict]:
    """The verdicts that differ once the change is made, by a full run."""
    before = {report.case: report.verdict for report in decision.report.cases}
    after = decide(change.applied(decision.scenario))
    return {
        report.case: report.verdict
        for report in after.cases
        if before[report.case] is not report.verdict
    }


def found(decision: Decision, ref: str, kind: type[Change]) -> list[Way]:
    """The ways of a kind; all that are offered must work as they say."""
    all_ways = ways_out(decision, ref)
    assert all_ways.complete
    for way in all_ways.ways:
        assert verdicts(decision, way.change) == way.then
    return [way for way in all_ways.ways if isinstance(way.change, kind)]


def only(decision: Decision, ref: str, kind: type[Change]) -> Any:
    (way,) = found(decision, ref, kind)
    return way


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
    clock = Clock(decision.scenario.site)
    assert moment(clock.delivery(minute(way.change.by), 2)) == at("04T12:00")
    assert moment(clock.delivery(minute(way.change.by) + 1, 2)) > at("05T07:30")


def test_order_over_a_closed_date_and_a_weekend() -> None:
    """Needed Tue 07:30; Monday is closed, so Friday is the day before: order on Wednesday."""
    decision = decided(
        case("A", "09T08:30", components=STEM),
        techniques=[NO_SET],
        site={"closed_dates": ["2027-03-08"]},
    )
    way = only(decision, "A", OrderUnits)
    assert (way.change.by, way.change.arrives) == (at("03T16:00"), at("05T12:00"))


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


# -- packs ------------------------------------------------------------------------------------


def test_a_supplementary_pack_fills_what_the_tray_lacks() -> None:
    decision = decided(
        case("A", "02T08:30"),
        techniques=[STAND_ONLY],
        trays=[tray("STAND/1", missing={"REAM-14": 1})],
    )
    way = only(decision, "A", AddPacks)
    assert way.change == AddPacks("REAM-14", 1, at("02T07:30"))
    assert (way.then, way.meanwhile) == ({"A": COVERED}, None)
    assert verdicts(decision, replace(way.change, by=way.change.by + MINUTE)) == {}


# -- fast track -------------------------------------------------------------------------------


def test_fast_track_after_another_case() -> None:
    """A is out at 10:45; six hours are too long for 16:00, four are not."""
    decision = decided(
        case("A", "02T08:30"), case("B", "02T17:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    way = only(decision, "B", FastTrack)
    assert way.change == FastTrack("STAND/1", "B", "A", at("02T14:45"))
    assert way.then == {"B": COVERED}


def test_fast_track_before_the_first_use() -> None:
    """Sterile until noon, needed until the evening: reprocessed from now on, by 11:00."""
    decision = decided(
        case("A", "01T12:30"),
        techniques=[FEMORAL],
        trays=[tray("STAND/1", sterile_until="2027-03-01T12:00")],
    )
    way = only(decision, "A", FastTrack)
    assert way.change == FastTrack("STAND/1", "A", None, at("01T11:00"))
    assert way.then == {"A": COVERED}


def test_fast_track_of_base_and_add_on_only_together() -> None:
    configurations = [
        {
            "code": code,
            "kind": "base",
            "contents": {ref: 1},
            "turnaround_minutes": 360,
            "fast_track_minutes": 240,
        }
        for code, ref in (("BASE", "HNDL"), ("ADD", "REAM-14"))
    ]
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T17:00"),
        techniques=[technique("T", options=[["BASE", "ADD"]])],
        trays=[tray("BASE/1"), tray("ADD/1")],
        configurations=configurations,
    )
    way = only(decision, "B", Together)
    assert way.change.steps == (
        FastTrack("BASE/1", "B", "A", at("02T14:45")),
        FastTrack("ADD/1", "B", "A", at("02T14:45")),
    )
    assert way.then == {"B": COVERED}


# -- loans ------------------------------------------------------------------------------------


@pytest.mark.parametrize("arrives", ["2027-02-26T12:00", "2027-03-02T20:00", "2027-03-01T12:00"])
def test_latest_arrival_of_a_loan_that_is_awaited(arrives: str) -> None:
    """Two hours' check-in and six of reprocessing before Wed 07:30: Tuesday 15:30."""
    decision = decided(
        case("A", "03T08:30"), techniques=[FEMORAL], trays=[tray("STAND/9", arrives=arrives)]
    )
    way = only(decision, "A", LoanBy)
    assert way.change == LoanBy("STAND/9", "STAND", at("02T15:30"), at("03T07:30"))
    assert way.then == {"A": COVERED}
    late = replace(way.change, by=way.change.by + MINUTE, ready=way.change.ready + MINUTE)
    assert verdicts(decision, late).get("A") in (None, NOT_COVERED)


def test_a_loan_may_come_later_where_it_frees_a_tray() -> None:
    """B's tray can serve A if the loan serves B, a day later."""
    decision = decided(
        case("A", "03T08:30", reserved_trays=[]),
        case("B", "03T09:00", priority="urgent"),
        techniques=[STAND_ONLY],
        trays=[tray("STAND/1")],
    )
    way = next(way for way in found(decision, "A", LoanBy) if way.change.tray is None)
    # Ready at 08:00, when B needs its tray; then B's own serves A.
    assert (way.change.by, way.change.ready) == (at("02T16:00"), at("03T08:00"))


def test_a_loan_for_each_option_that_one_tray_more_completes() -> None:
    decision = decided(case("A", "03T08:30"), techniques=[FEMORAL], trays=[tray("BASE/1")])
    ways = found(decision, "A", LoanBy)
    assert sorted(way.change.configuration for way in ways) == ["ADD", "STAND"]
    assert {way.meanwhile["A"] for way in ways if way.meanwhile} == {AT_RISK}


def test_a_whole_option_is_borrowed_where_one_tray_is_not_enough() -> None:
    decision = decided(
        case("A", "03T08:30"), techniques=[technique("T", options=[["BASE", "ADD"]])]
    )
    way = only(decision, "A", Together)
    assert [step.configuration for step in way.change.steps] == ["BASE", "ADD"]
    assert way.then == {"A": COVERED}


def test_a_loan_is_fast_tracked_only_where_it_cannot_be_in_time_otherwise() -> None:
    """Now 07:00, needed 15:00: eight hours are just enough; at 14:00 only six are left."""
    for start, fast in (("01T16:00", False), ("01T15:00", True)):
        decision = decided(case("A", start), techniques=[STAND_ONLY])
        assert only(decision, "A", LoanBy).change.fast_track is fast


def test_no_loan_that_would_have_to_be_here_already() -> None:
    decision = decided(case("A", "01T11:00"), techniques=[STAND_ONLY])
    assert found(decision, "A", LoanBy) == []


# -- another time -----------------------------------------------------------------------------


def test_the_earliest_start_that_works_to_the_minute() -> None:
    """Fast-tracked at 14:45, so 15:45; at the standard turnaround 16:45, so 17:45."""
    decision = decided(
        case("A", "02T08:30"), case("B", "02T14:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    ways = found(decision, "B", MoveCase)
    assert [(way.change.start, way.then["B"]) for way in ways] == [
        (at("02T17:45"), COVERED),
        (at("03T08:30"), COVERED),
        (at("02T15:45"), AT_RISK),
    ]


def brute_force(decision: Decision, ref: str, wanted: Verdict, until: datetime) -> datetime | None:
    """Every minute from the booked start on, decided in full."""
    start = decision.scenario.cases[ref].start + MINUTE
    while start < until:
        after = decide(MoveCase(ref, start).applied(decision.scenario))
        if after.case(ref).verdict is wanted:
            return start
        start += MINUTE
    return None


def test_no_earlier_start_works() -> None:
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T14:00"),
        case("C", "02T09:15"),
        techniques=[FEMORAL],
        trays=[tray("STAND/1"), tray("BASE/1"), tray("ADD/1", ready="2027-03-02T06:00")],
    )
    covered = next(way for way in found(decision, "B", MoveCase) if way.then["B"] is COVERED)
    assert covered.change.start == brute_force(decision, "B", COVERED, at("02T21:00"))


@pytest.mark.parametrize("who", [{"theatre": "Theatre 1"}, {"surgeon": "Surgeon Ash"}])
def test_a_start_clashes_with_no_other_case_of_theatre_or_surgeon(who: dict[str, str]) -> None:
    """C holds the theatre from 17:00 to 19:15."""
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T14:00", **who),
        case("C", "02T17:00", technique="NONE", components=STEM, **who),
        techniques=[FEMORAL, NO_SET | {"code": "NONE"}],
        trays=[tray("STAND/1")],
        shelf=[box("STEM-12/1")],
    )
    starts = [way.change.start for way in found(decision, "B", MoveCase)]
    assert at("02T19:15") in starts
    assert not [start for start in starts if at("02T14:45") < start < at("02T19:15")]


def test_a_case_moves_to_when_its_order_can_be_here() -> None:
    """Ordered now, the stem is here on Wednesday noon: too late for Tuesday."""
    decision = decided(case("A", "02T08:30", components=STEM), techniques=[NO_SET])
    way = only(decision, "A", Together)
    move, order = way.change.steps
    assert move == MoveCase("A", at("04T08:30"))
    assert order == OrderUnits("STEM-12", 1, at("01T16:00"), at("03T12:00"), "A")
    assert (way.then, way.meanwhile) == ({"A": COVERED}, {"A": AT_RISK})


def test_waiting_does_not_help_where_nothing_is_to_come() -> None:
    decision = decided(case("A", "05T08:30", components=STEM), techniques=[NO_SET])
    assert found(decision, "A", MoveCase) == []


# -- order and bound --------------------------------------------------------------------------


def test_the_same_ways_from_run_to_run_whatever_was_decided_before() -> None:
    decision = decided(
        case("A", "02T08:30"), case("B", "02T14:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    again = Decision(decision.scenario, decision)
    assert ways_out(decision, "B") == ways_out(again, "B")


def test_the_search_is_bounded_and_says_that_it_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    decision = decided(
        case("A", "02T08:30"), case("B", "02T14:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    whole = ways_out(decision, "B")
    assert whole.complete
    assert whole.tries < MOST_TRIES
    monkeypatch.setattr("scheduling.coverage.ways_out_search.MOST_TRIES", whole.tries - 1)
    stopped = ways_out(decision, "B")
    assert (stopped.complete, stopped.tries) == (False, whole.tries - 1)
    assert {way.change for way in stopped.ways} <= {way.change for way in whole.ways}
