"""What if: the cases that a change makes different, and in what."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from random import Random

from scheduling.coverage.changes import MoveCase
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Verdict
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Need
from scheduling.coverage.whatif import what_if
from tests.coverage_engine.one_house import STEM, box, case, decided, rule, technique, tray
from tests.coverage_engine.random_changes import changed
from tests.coverage_engine.random_scenarios import scenario

NO_SET = technique("T")
FEMORAL = technique("T", rule("reamer"), options=[["STAND"]])


def test_nothing_changes() -> None:
    decision = decided(case("A", "02T08:30", components=STEM), techniques=[NO_SET])
    difference = what_if(decision, decision.scenario)
    assert (difference.cases, difference.verdicts, difference.worsened) == ((), {}, ())
    assert difference.after.report == decision.report


def test_another_order_of_the_list_says_who_gains_and_who_loses() -> None:
    """One tray, two cases on one day: whoever is first has it."""
    decision = decided(
        case("A", "02T08:30"), case("B", "02T11:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    cases = decision.scenario.cases
    swapped = MoveCase("B", cases["A"].start).applied(
        MoveCase("A", cases["B"].start).applied(decision.scenario)
    )
    difference = what_if(decision, swapped)
    assert difference.verdicts == {
        "A": (Verdict.COVERED, Verdict.NOT_COVERED),
        "B": (Verdict.NOT_COVERED, Verdict.COVERED),
    }
    assert difference.worsened == ("A",)
    gains = difference.case("B")
    assert gains is not None
    assert (gains.better, gains.worse) == (((None, "femoral"), (Need.PLANNED, "REAM-14")), ())


def test_a_line_may_worsen_while_the_verdict_stays() -> None:
    """B is not covered before and after, but with the head it lacks one thing more."""
    plan = {"stem": {"size": 12}, "head": {"diameter": 36}}
    decision = decided(
        case("B", "02T08:30", components=plan), techniques=[NO_SET], shelf=[box("HEAD-36/1")]
    )
    difference = what_if(decision, replace(decision.scenario, shelf={}))
    (case_difference,) = difference.cases
    assert not case_difference.verdict_changes
    assert case_difference.worse == ((Need.PLANNED, "HEAD-36"),)
    assert (difference.verdicts, difference.worsened) == ({}, ("B",))


def test_a_line_that_is_no_longer_asked_for_is_neither_better_nor_worse() -> None:
    decision = decided(case("A", "02T08:30", components=STEM), techniques=[NO_SET])
    plan = replace(decision.scenario.cases["A"], components={})
    difference = what_if(decision, replace(decision.scenario, cases={"A": plan}))
    (case_difference,) = difference.cases
    assert (case_difference.better, case_difference.worse) == ((), ())


def test_a_case_booked_and_a_case_cancelled() -> None:
    decision = decided(
        case("A", "02T08:30"), case("B", "02T11:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    b = decision.scenario.cases["B"]
    n = replace(b, ref="N", start=b.start + timedelta(days=2))
    difference = what_if(decision, replace(decision.scenario, cases={"B": b, "N": n}))
    assert difference.verdicts == {
        "B": (Verdict.NOT_COVERED, Verdict.COVERED),
        "N": (None, Verdict.COVERED),
        "A": (Verdict.COVERED, None),
    }
    assert [one.case for one in difference.cases] == ["B", "N", "A"]
    assert difference.worsened == ()


def test_what_the_change_is_decided_from_is_left_as_it_was() -> None:
    decision = decided(
        case("A", "02T08:30"), case("B", "02T11:00"), techniques=[FEMORAL], trays=[tray("STAND/1")]
    )
    report, scenario_before = decision.report, decision.scenario
    what_if(decision, replace(decision.scenario, trays={}))
    assert decision.report is report
    assert what_if(decision, scenario_before).cases == ()


def test_random_changes_give_what_two_full_runs_give() -> None:
    for seed in range(120):
        entry = scenario(40_000 + seed)
        before, after = (
            read_scenario(json.dumps(one)) for one in (entry, changed(entry, Random(seed)))
        )
        difference = what_if(Decision(before), after)
        old = {report.case: report.verdict for report in decide(before).cases}
        new = {report.case: report.verdict for report in decide(after).cases}
        assert difference.verdicts == {
            ref: (old.get(ref), new.get(ref))
            for ref in {*old, *new}
            if old.get(ref) is not new.get(ref)
        }
