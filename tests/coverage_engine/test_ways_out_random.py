"""Ways out of random scenarios: each does, by a full run and by the checker, what it claims."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise

import pytest

from scheduling.coverage.changes import (
    AddPacks,
    Awaited,
    Change,
    FastTrack,
    LoanBy,
    OrderUnits,
    Together,
)
from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import CaseReport, Report, Verdict
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario
from scheduling.coverage.verify import verify
from scheduling.coverage.ways_out import Way, WaysOut, ways_out
from scheduling.coverage.whatif import gaps, rank
from tests.coverage_engine.random_scenarios import scenario

SCENARIOS = 240
BLOCKS = 12


def decision_of(seed: int) -> Decision:
    return Decision(read_scenario(json.dumps(scenario(50_000 + seed))))


def changes_of(decision: Decision, change: Change) -> tuple[Report, dict[str, Verdict]]:
    """A full run of the changed scenario, and the verdicts that differ."""
    after = decide(change.applied(decision.scenario))
    before = {report.case: report.verdict for report in decision.report.cases}
    return after, {
        report.case: report.verdict
        for report in after.cases
        if report.verdict is not before[report.case]
    }


def steps_of(change: Change) -> tuple[Change, ...]:
    return change.steps if isinstance(change, Together) else (change,)


@cache
def every(block: int) -> list[tuple[Decision, WaysOut]]:
    size = SCENARIOS // BLOCKS
    decisions = [decision_of(seed) for seed in range(block * size, (block + 1) * size)]
    return [
        (decision, ways_out(decision, report.case))
        for decision in decisions
        for report in decision.report.cases
    ]


@pytest.mark.parametrize("block", range(BLOCKS))
def test_every_way_does_what_it_claims(block: int) -> None:
    for decision, found in every(block):
        assert found.complete
        for way in found.ways:
            changed = way.change.applied(decision.scenario)
            after, verdicts = changes_of(decision, way.change)
            assert verdicts == way.then
            assert verify(changed, after) == []
            helps(decision, way)
            for step in steps_of(way.change):
                in_time(decision.scenario, changed, after, step)
            if isinstance(way.change, Together | Awaited):
                asked = changes_of(decision, way.change.meanwhile())[1]
                assert way.meanwhile in (None, asked)


def helps(decision: Decision, way: Way) -> None:
    """The verdict is better, or a gap is closed and the way says that this is all it does."""
    before = decision.report.case(way.case).verdict
    if way.partial:
        assert way.case not in way.then
        assert way.closes
    else:
        assert rank(way.then[way.case]) < rank(before)


def in_time(before: Scenario, changed: Scenario, after: Report, step: Change) -> None:
    """What the change itself has to keep to: nothing is used before it is there."""
    clock = Clock(before.site)
    if isinstance(step, OrderUnits):
        item = before.implants[step.item]
        lead_days, orders = item.lead_days, clock.orders_with(item.supplier)
        assert lead_days is not None
        needed_by = minute(after.case(step.case).needed_by)
        assert clock.now <= minute(step.by)
        assert orders.delivery(minute(step.by), lead_days) == minute(step.arrives) <= needed_by
        assert orders.delivery(minute(step.by) + 1, lead_days) > needed_by
        ordered = set(changed.shelf) - set(before.shelf)
        for report in after.cases:
            if report.case != step.case:
                assert not ordered & {code for line in report.lines for code in line.units}
    if isinstance(step, FastTrack):
        turnaround = before.configurations[before.trays[step.tray].configuration]
        users = [report for report in after.cases if {step.tray, step.twin} & used(report)]
        for first, second in pairwise(users):
            if (first.case, second.case) != (step.after, step.case):
                back = clock.after(minute(first.out), turnaround.turnaround_minutes)
                assert back <= minute(second.needed_by)


def used(report: CaseReport) -> set[str]:
    return {code for line in report.sets for code in line.trays} | set(report.packs)


def a_minute_later(scenario: Scenario, step: Change) -> Change | None:
    """The same loan or pack a minute later; None for what has no such moment."""
    minute_later = timedelta(minutes=1)
    if isinstance(step, AddPacks):
        return replace(step, by=step.by + minute_later)
    if isinstance(step, LoanBy):
        kind = scenario.configurations[step.configuration]
        speed = kind.fast_track_minutes if step.fast_track else kind.turnaround_minutes
        assert speed is not None
        ready = Clock(scenario.site).after(
            minute(step.by) + 1, scenario.site.loan_check_in_minutes + speed
        )
        return replace(step, by=step.by + minute_later, ready=moment(ready))
    return None


def outcome(decision: Decision, change: Change, ref: str) -> object:
    """What becomes of a case: its verdict, its gaps, and the reservations that are broken."""
    after = decide(change.applied(decision.scenario)).case(ref)
    broken = [note for note in after.notes if note.code == "reservation not honoured"]
    return after.verdict, gaps(after), broken


def test_a_minute_later_no_longer_does_what_the_last_moment_does() -> None:
    looked_at = 0
    for block in range(BLOCKS):
        for decision, found in every(block):
            for way in found.ways:
                later = a_minute_later(decision.scenario, way.change)
                if later is not None:
                    looked_at += 1
                    in_time = outcome(decision, way.change, way.case)
                    assert outcome(decision, later, way.case) != in_time
    assert looked_at >= 100


def test_every_kind_turns_up() -> None:
    """The random scenarios do try all that is claimed above."""
    kinds = Counter(
        type(step).__name__
        for block in range(BLOCKS)
        for _, found in every(block)
        for way in found.ways
        for step in steps_of(way.change)
    )
    rare = {"UseOption", "SwapTrays", "FastTrack", "ReleaseReservation"}
    assert set(kinds) == rare | {"AddPacks", "UnitBy", "OrderUnits", "LoanBy", "MoveCase"}
    assert all(number >= (2 if kind in rare else 20) for kind, number in kinds.items()), kinds


def test_ways_stand_in_the_order_of_their_cost_to_others() -> None:
    for _, found in every(0) + every(1):
        keys = [(way.partial, bool(way.costs)) for way in found.ways]
        assert keys == sorted(keys)


def test_the_order_of_the_input_does_not_matter() -> None:
    for seed in range(40):
        entry = scenario(50_000 + seed)
        keys = ("instruments", "implants", "configurations", "trays", "shelf", "cases")
        other = entry | {key: entry[key][::-1] for key in keys}
        one, two = (Decision(read_scenario(json.dumps(given))) for given in (entry, other))
        for report in one.report.cases:
            assert ways_out(one, report.case) == ways_out(two, report.case)
