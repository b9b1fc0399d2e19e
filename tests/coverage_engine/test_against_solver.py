"""The engine's tray claims are those of a full model, on scenarios too big for exhaustive search.

A claim is right to be let in if all that is let in can be had together, and right to be refused if
it cannot be had beside those let in before it.  So the model is asked once for all that stands,
and once for every refusal.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.precedence import by_precedence
from scheduling.coverage.report import CaseReport, Line, Report, Status
from scheduling.coverage.values import Need, Scenario
from tests.benchmarks.generators import Size, site
from tests.coverage_engine.full_model import FullModel, Wanted

BLOCKS, OF_EACH = 4, 50
GRADES = (Status.HELD, Status.CONDITIONAL, Status.SHORT)
SIZES = (
    Size(cases=14, theatres=3, trays=32, units=600, turnaround=14 * 60, quick=7 * 60),
    Size(cases=12, theatres=2, trays=30, units=600),
    Size(cases=16, theatres=3, trays=34, units=600, turnaround=14 * 60, quick=7 * 60),
)


def drawn(seed: int) -> Scenario:
    """A few days of one site, without reservations."""
    scenario = site(seed, SIZES[seed % len(SIZES)])
    cases = {ref: replace(case, reserved_trays=()) for ref, case in scenario.cases.items()}
    return replace(scenario, cases=cases)


def claims(model: FullModel, report: Report) -> Iterator[tuple[CaseReport, int | Line, Status]]:
    """The claims in their order: the case, its set or instrument line, and what it got."""
    cases = sorted(model.scenario.cases.values(), key=by_precedence)
    for case in cases:
        found = report.case(case.ref)
        for number, line in enumerate(found.sets):
            yield found, number, line.status
        yield from instrument_claims(model, found, Need.PLANNED)
    for case in cases:
        yield from instrument_claims(model, report.case(case.ref), Need.CONTINGENCY)


def instrument_claims(
    model: FullModel, found: CaseReport, need: Need
) -> Iterator[tuple[CaseReport, Line, Status]]:
    for line in sorted(found.lines, key=lambda line: line.item):
        if line.need is need and line.item in model.scenario.instruments:
            yield (
                found,
                line,
                Status.SHORT
                if line.short
                else (Status.HELD if line.is_held else Status.CONDITIONAL),
            )


def with_claim(wanted: Wanted, claim: int | Line, status: Status, planned: int) -> Wanted:
    wanted = Wanted(dict(wanted.sets), dict(wanted.instruments))
    if isinstance(claim, int):
        wanted.sets[claim] = status
    else:
        held, total = wanted.instruments.get(claim.item, (0, 0))
        quantity = claim.quantity + planned
        held = max(held, quantity) if status is Status.HELD else held
        wanted.instruments[claim.item] = held, max(total, quantity)
    return wanted


def check(scenario: Scenario) -> Counter[str]:
    """AssertionError where a claim is not what the model says; how much was checked."""
    report, model = decide(scenario), FullModel(scenario)
    wanted = {ref: Wanted() for ref in scenario.cases}
    planned: dict[tuple[str, str], tuple[int, Status]] = {}
    counted: Counter[str] = Counter()
    for found, claim, got in claims(model, report):
        assert not found.gave_up
        before, best = 0, Status.HELD
        if isinstance(claim, Line):
            if claim.need is Need.PLANNED:
                planned[found.case, claim.item] = claim.quantity, got
            else:
                before, best = planned.get((found.case, claim.item), (0, Status.HELD))
        # More of an instrument cannot be had in a better way than fewer.
        for status in GRADES[GRADES.index(best) : GRADES.index(got)]:
            trial = with_claim(wanted[found.case], claim, status, before)
            alone = not model.feasible({found.case: trial})  # quickly said, and as good a proof
            assert alone or not model.feasible({**wanted, found.case: trial}), (found.case, claim)
            counted["refused alone" if alone else "refused beside others"] += 1
        if got is not Status.SHORT:
            wanted[found.case] = with_claim(wanted[found.case], claim, got, before)
            counted["let in"] += 1
    assert model.feasible(wanted)
    return counted


@pytest.mark.parametrize("block", range(BLOCKS))
def test_engine_and_full_model_agree(block: int) -> None:
    counted: Counter[str] = Counter()
    for seed in range(block * OF_EACH, (block + 1) * OF_EACH):
        counted += check(drawn(seed))
    assert counted["refused beside others"] > 100
    assert counted["let in"] > 1000
