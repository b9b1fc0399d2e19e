"""What a recall does to the booked cases: their verdicts without it and with it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.coverage.report import CaseReport, Verdict
from scheduling.coverage.values import Scenario
from scheduling.coverage.whatif import CaseDifference, what_if
from scheduling.gaps import gaps_of
from scheduling.queries import Coverage

HELD_FOR_NOW = "recalled"


@dataclass(frozen=True, slots=True)
class CaseHit:
    """A booked case that comes off worse.  `start` is local; `gap` is its worst one now."""

    pk: int
    case: str
    start: datetime
    before: Verdict
    after: Verdict
    gap: str


def cases_hit(
    coverage: Coverage, boxes: Collection[str], pks: Mapping[str, int]
) -> tuple[CaseHit, ...]:
    """The booked cases that are worse off with these boxes on hold, in time order.  No query.

    Boxes that are on hold already are let go for the comparison, the others are held; so it is
    the same question before a recall is opened, after it, and for a drill.  `pks`: the cases that
    are asked for, reference → key.
    """
    now = coverage.scenario
    free, held = _with_hold(now, boxes, ""), _with_hold(now, boxes, HELD_FOR_NOW)
    without = what_if(coverage.decision, free).after
    difference = what_if(without, held)
    return tuple(
        _hit(held, case, pks[case.case], case.before, case.after)
        for case in difference.cases
        if case.case in pks and case.worsens and case.before is not None and case.after is not None
    )


def _with_hold(scenario: Scenario, boxes: Collection[str], hold: str) -> Scenario:
    shelf = {
        code: replace(unit, hold=hold) if code in boxes else unit
        for code, unit in scenario.shelf.items()
    }
    return replace(scenario, shelf=shelf)


def _hit(
    scenario: Scenario, case: CaseDifference, pk: int, before: CaseReport, after: CaseReport
) -> CaseHit:
    gaps = gaps_of(scenario, after)
    booked = scenario.cases[case.case]
    return CaseHit(
        pk=pk,
        case=case.case,
        start=booked.start.astimezone(ZoneInfo(scenario.site.timezone)),
        before=before.verdict,
        after=after.verdict,
        gap=gaps[0].in_one_line if gaps else "",
    )
