"""What a change would do, for people who decide before it is done: every case that it touches."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.coverage.report import CaseReport, Verdict
from scheduling.coverage.values import Scenario
from scheduling.coverage.whatif import CaseDifference, Gap, what_if
from scheduling.gaps import Gap as GapSaid
from scheduling.gaps import gaps_of
from scheduling.queries import Coverage
from scheduling.words import item_in_words, procedure_in_words


@dataclass(frozen=True, slots=True)
class CaseThen:
    """One case before and after.  A verdict None: not booked then.  `start` is local."""

    ref: str
    start: datetime
    theatre: str
    procedure: str
    before: Verdict | None
    after: Verdict | None
    worsens: bool
    better: tuple[str, ...]
    worse: tuple[str, ...]

    @property
    def verdict_changes(self) -> bool:
        return self.before is not self.after


@dataclass(frozen=True, slots=True)
class WhatThen:
    """`cases`: those that change.  `after`: the changed scenario, decided."""

    before: Coverage
    after: Coverage
    cases: tuple[CaseThen, ...]

    def others(self, own: Collection[str]) -> tuple[CaseThen, ...]:
        return tuple(case for case in self.cases if case.ref not in own)

    def report(self, ref: str) -> CaseReport:
        """KeyError where the case is not booked then."""
        return self.after.report.case(ref)

    def gaps(self, ref: str) -> tuple[GapSaid, ...]:
        return gaps_of(self.after.scenario, self.report(ref))


def what_then(coverage: Coverage, changed: Scenario) -> WhatThen:
    """Decide the changed scenario beside the one at hand.  No query; nothing is saved."""
    difference = what_if(coverage.decision, changed)
    cases = tuple(_said(coverage.scenario, changed, case) for case in difference.cases)
    return WhatThen(coverage, Coverage(difference.after), cases)


def _said(before: Scenario, after: Scenario, case: CaseDifference) -> CaseThen:
    scenario = after if case.case in after.cases else before
    of_case = scenario.cases[case.case]
    old, new = case.verdicts
    return CaseThen(
        ref=case.case,
        start=of_case.start.astimezone(ZoneInfo(scenario.site.timezone)),
        theatre=of_case.theatre,
        procedure=procedure_in_words(scenario, of_case),
        before=old,
        after=new,
        worsens=case.worsens,
        better=tuple(gap_in_words(scenario, gap) for gap in case.better),
        worse=tuple(gap_in_words(scenario, gap) for gap in case.worse),
    )


def gap_in_words(scenario: Scenario, gap: Gap) -> str:
    """`planned stem A, size 12`; `set for femoral preparation`."""
    need, what = gap
    return f"set for {what}" if need is None else f"{need} {item_in_words(scenario, what)}"
