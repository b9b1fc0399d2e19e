"""The smallest set of cases that conflict: it does conflict, and none of them could be left out."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Line, Reason, Report, SetLine, Status
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.tray_conflict import least_conflict
from scheduling.coverage.values import Scenario
from tests.coverage_engine.random_scenarios import scenario

BLOCKS, OF_EACH = 8, 40


@dataclass(frozen=True)
class Refused:
    """A set (by purpose) or an instrument line of a case that is short in a conflict."""

    case: str
    claim: object
    conflict: Reason

    def stays_short(self, in_house: Scenario, cases: Sequence[str]) -> bool:
        """Is it short too, with these cases alone?"""
        alone = replace(in_house, cases={ref: in_house.cases[ref] for ref in cases})
        return any(short == self.claim for short, _ in shorts(decide(alone), self.case))


def shorts(report: Report, ref: str) -> Iterator[tuple[object, SetLine | Line]]:
    for asked in report.case(ref).sets:
        if asked.status is Status.SHORT:
            yield asked.purpose, asked
    for line in report.case(ref).lines:
        if line.short:
            yield (line.need, line.item), line


def refused(report: Report) -> Iterator[Refused]:
    for case in report.cases:
        for claim, short in shorts(report, case.case):
            for reason in short.because:
                if reason.code == "cases conflict":
                    yield Refused(case.case, claim, reason)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_the_cases_named_conflict_by_themselves_and_each_is_needed_for_it(block: int) -> None:
    found = 0
    for seed in range(block * OF_EACH, (block + 1) * OF_EACH):
        house = read_scenario(json.dumps(scenario(seed)))
        for one in refused(decide(house)):
            cases = one.conflict.values["cases"]
            assert isinstance(cases, tuple)
            assert one.case in cases
            assert one.stays_short(house, cases), f"seed {seed}: {one}"
            for other in set(cases) - {one.case}:
                fewer = [ref for ref in cases if ref != other]
                assert not one.stays_short(house, fewer), f"seed {seed}: {one} without {other}"
            found += 1
    assert found >= 5, "too few conflicts were drawn to say anything"


# -- looking for it -------------------------------------------------------------------------------


def test_the_nearest_are_tried_first_and_the_idle_left_out() -> None:
    asked: list[Sequence[int]] = []

    def conflict(cases: Sequence[int]) -> bool:
        asked.append(cases)
        return {7, 2, 5} <= set(cases)

    assert least_conflict(7, [1, 2, 3, 5, 8, 9, 10, 11], conflict) == (2, 5, 7)
    assert not any({8, 9, 10, 11} & set(cases) for cases in asked)


def test_a_case_alone_may_be_the_conflict() -> None:
    assert least_conflict(7, [1, 2], lambda cases: True) == (7,)


def test_no_conflict_among_these() -> None:
    assert least_conflict(7, [1, 2, 3], lambda cases: False) is None
