"""One line a case: when, where, which side, what, the verdict and the worst gap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from scheduling.coverage.report import CaseReport, Report, Verdict
from scheduling.coverage.values import Scenario
from scheduling.gaps import gaps_of
from scheduling.models import Case
from scheduling.words import planned_in_words, procedure_in_words

NO_PLAN = "No plan is written yet, so nothing can be checked."


@dataclass(frozen=True, slots=True)
class CaseLine:
    """`start` and `end` are local.  `verdict` None: the case has ended, nothing is owed to it."""

    pk: int
    ref: str
    start: datetime
    end: datetime
    theatre: str
    theatre_pk: int | None
    surgeon: str
    side: str
    status: str
    priority: str
    procedure: str
    planned: str
    verdict: Verdict | None
    worst_gap: str
    more_gaps: int

    @property
    def is_open(self) -> bool:
        return self.verdict is not None


@dataclass(frozen=True, slots=True)
class CaseDay:
    day: date
    lines: tuple[CaseLine, ...]


def case_line(case: Case, scenario: Scenario, report: CaseReport | None) -> CaseLine:
    """A booked or started case without a report is *not known*: never covered by default."""
    planned = scenario.cases.get(case.ref)
    gaps = gaps_of(scenario, report) if report else ()
    verdict: Verdict | None = report.verdict if report else Verdict.NOT_KNOWN
    worst = gaps[0].in_one_line if gaps else ("" if report else NO_PLAN)
    if report is None and case.status not in ("booked", "started"):
        verdict, worst = None, ""
    return CaseLine(
        pk=case.pk,
        ref=case.ref,
        start=case.site.local(case.start),
        end=case.site.local(case.end),
        theatre=case.theatre.code if case.theatre else "",
        theatre_pk=case.theatre_id,
        surgeon=case.surgeon.name if case.surgeon else "",
        side=case.side,
        status=case.status,
        priority=case.priority,
        procedure=procedure_in_words(scenario, planned) if planned else "",
        planned=planned_in_words(planned) if planned else "",
        verdict=verdict,
        worst_gap=worst,
        more_gaps=max(len(gaps) - 1, 0),
    )


def case_lines(cases: Iterable[Case], scenario: Scenario, report: Report) -> tuple[CaseLine, ...]:
    """In the order of `cases`.  No query where theatre, surgeon and site are selected along."""
    by_ref = {of_case.case: of_case for of_case in report.cases}
    return tuple(case_line(case, scenario, by_ref.get(case.ref)) for case in cases)


def by_day(lines: Sequence[CaseLine]) -> tuple[CaseDay, ...]:
    """`lines` in time order, under the local day on which each case starts."""
    return tuple(
        CaseDay(day, tuple(of_day)) for day, of_day in groupby(lines, lambda x: x.start.date())
    )


def tally(lines: Iterable[CaseLine]) -> tuple[tuple[Verdict, int], ...]:
    """How many cases have each verdict, worst first; verdicts that none has are left out."""
    counts = dict.fromkeys(Verdict, 0)
    for line in lines:
        if line.verdict is not None:
            counts[line.verdict] += 1
    return tuple((verdict, number) for verdict, number in counts.items() if number)
