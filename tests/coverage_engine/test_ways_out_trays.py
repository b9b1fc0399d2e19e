"""Ways out by packs, fast track, loans and another time, and their order and bound."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from scheduling.coverage.changes import (
    AddPacks,
    FastTrack,
    LoanBy,
    MoveCase,
    OrderUnits,
    Together,
)
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Verdict
from scheduling.coverage.ways_out import ways_out
from scheduling.coverage.ways_out_search import MOST_TRIES
from scheduling.coverage.ways_out_trays import MOST_PACKS
from tests.coverage_engine.asking_ways_out import (
    AT_RISK,
    COVERED,
    FEMORAL,
    LONDON,
    MINUTE,
    NO_SET,
    NOT_COVERED,
    STAND_ONLY,
    at,
    found,
    only,
    verdicts,
)
from tests.coverage_engine.one_house import (
    CONFIGURATIONS,
    STEM,
    box,
    case,
    decided,
    rule,
    technique,
    tray,
)

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


PACK = {"code": "PACK", "kind": "supplementary", "contents": {"REAM-14": 1}}


def reamers_if_needed(quantity: int, *, awaited: int) -> Decision:
    """A has one of them in its tray, and so many packs of one are awaited."""
    reamers = rule("reamer", "contingency") | {"quantity": quantity}
    return decided(
        case("A", "05T08:30"),
        techniques=[technique("T", reamers, options=[["STAND"]])],
        configurations=[*CONFIGURATIONS, PACK | {"turnaround_minutes": 360}],
        trays=[
            tray("STAND/1"),
            *(tray(f"PACK/{n}", arrives="2027-03-02T09:00") for n in range(awaited)),
        ],
    )


def test_packs_are_added_until_the_gap_is_closed() -> None:
    """With one pack more nothing is short, but A depends on the one awaited; with two, on none."""
    way = only(reamers_if_needed(3, awaited=1), "A", AddPacks)
    assert way.change == AddPacks("REAM-14", 2, at("05T07:30"))
    assert way.then == {"A": COVERED}


def test_one_pack_that_makes_the_verdict_better_and_two_that_make_it_better_still() -> None:
    reamers = rule("reamer") | {"quantity": 2}, rule("reamer", "contingency") | {"quantity": 3}
    decision = decided(
        case("A", "02T08:30"),
        techniques=[technique("T", *reamers, options=[["STAND"]])],
        trays=[tray("STAND/1")],
    )
    ways = found(decision, "A", AddPacks)
    assert {way.change.quantity: way.then for way in ways} == {1: {"A": AT_RISK}, 2: {"A": COVERED}}


def test_where_no_number_of_packs_closes_a_gap_the_fewest_that_help_are_told() -> None:
    way = only(reamers_if_needed(MOST_PACKS + 2, awaited=MOST_PACKS), "A", AddPacks)
    assert way.change == AddPacks("REAM-14", 1, at("05T07:30"))
    assert (way.then, way.partial) == ({}, True)


def test_packs_for_both_where_an_earlier_claim_would_take_the_first() -> None:
    """A claims before B and lacks the same: what is added serves A first."""
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T08:30"),
        techniques=[STAND_ONLY],
        trays=[tray(code, missing={"REAM-14": 1}) for code in ("STAND/1", "STAND/2")],
    )
    of_a, of_b = (only(decision, ref, AddPacks) for ref in ("A", "B"))
    assert (of_a.change.quantity, of_a.then) == (1, {"A": COVERED})
    assert (of_b.change.quantity, of_b.then) == (2, {"A": COVERED, "B": COVERED})
    assert of_b.costs == ()


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


def test_a_loan_for_a_set_that_no_awaited_one_serves() -> None:
    """BASE/9 is awaited for the femoral set; the cup, which might have used it too, has none."""
    sets = [
        {"purpose": "femoral", "options": [["BASE"]]},
        {"purpose": "cup", "options": [["BASE"], ["STAND"]]},
    ]
    decision = decided(
        case("A", "05T08:30"),
        techniques=[technique("T") | {"sets": sets}],
        trays=[tray("BASE/9", arrives="2027-03-02T09:00")],
    )
    ways = found(decision, "A", LoanBy)
    assert [(way.change.tray, way.change.configuration, way.then) for way in ways] == [
        (None, "BASE", {"A": AT_RISK}),
        (None, "STAND", {"A": AT_RISK}),
    ]


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


def test_a_start_reads_back_as_the_moment_that_was_tried() -> None:
    """The tray is ready at 01:30, and an hour later it is 01:30 again: who types that would say
    the first.  The next start that can be typed is 02:00."""
    decision = decided(
        case("A", "01T08:30") | {"start": "2027-10-31T00:30"},
        techniques=[STAND_ONLY],
        trays=[tray("STAND/1", ready="2027-10-31T01:30")],
        site={"now": "2027-10-30T20:00"},
    )
    same_day = min(found(decision, "A", MoveCase), key=lambda way: way.change.start)
    assert same_day.change.start == datetime(2027, 10, 31, 2, tzinfo=LONDON)
    assert same_day.then == {"A": COVERED}


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


def test_no_earlier_start_works_where_a_later_one_gives_up_the_set_that_was_held() -> None:
    """BASE/1 is ready at noon.  A holds STAND/1; moved behind B it must wait for it: 10:45 and five
    hours, so 16:45."""
    stand, base, _ = CONFIGURATIONS
    sets = [
        {"purpose": "femoral", "options": [["BASE"]]},
        {"purpose": "cup", "options": [["STAND"]]},
    ]
    decision = decided(
        case("A", "02T08:30"),
        case("B", "02T08:30"),
        techniques=[technique("T") | {"sets": sets}],
        configurations=[stand | {"turnaround_minutes": 300, "fast_track_minutes": 300}, base],
        trays=[tray("STAND/1"), tray("BASE/1", ready="2027-03-02T12:00")],
    )
    first = min(found(decision, "A", MoveCase), key=lambda way: way.change.start)
    assert (first.change.start, first.then["A"]) == (at("02T16:45"), COVERED)
    assert first.change.start == brute_force(decision, "A", COVERED, at("02T18:00"))


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
