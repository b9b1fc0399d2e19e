from __future__ import annotations

from datetime import UTC, datetime

import pytest

from deploy.kit.models import Site
from scheduling.coverage.report import Report, Verdict
from scheduling.coverage.values import Scenario
from scheduling.models import Case, CaseStatus, Surgeon, Theatre
from scheduling.web.case_lines import NO_PLAN, by_day, case_lines, tally

Two = tuple[Scenario, Report]


def case(ref: str, day: int, hour: int, status: CaseStatus = CaseStatus.BOOKED) -> Case:
    site = Site(name="Ottermere", timezone="Europe/London")
    start = datetime(2026, 3, day, hour, 30, tzinfo=UTC)
    return Case(
        pk=day,
        site=site,
        ref=ref,
        start=start,
        minutes=90,
        side="left",
        status=status,
        theatre=Theatre(code="Theatre 1"),
        surgeon=Surgeon(name="Surgeon One"),
    )


def test_a_line_says_when_where_what_and_the_verdict(two_cases: Two) -> None:
    (line,) = case_lines([case("A", 10, 8)], *two_cases)
    assert (line.verdict, line.worst_gap, line.more_gaps) == (Verdict.COVERED, "", 0)
    assert (line.theatre, line.surgeon, line.side) == ("Theatre 1", "Surgeon One", "left")
    assert line.planned == "stem A, size 12, STANDARD offset, 225 mm"
    assert f"{line.start:%H:%M} {line.end:%H:%M}" == "08:30 10:00"


@pytest.mark.parametrize("status", [CaseStatus.BOOKED, CaseStatus.STARTED])
def test_a_case_that_the_engine_has_not_seen_is_not_known(
    two_cases: Two, status: CaseStatus
) -> None:
    (line,) = case_lines([case("NEW", 10, 8, status)], *two_cases)
    assert (line.verdict, line.worst_gap) == (Verdict.NOT_KNOWN, NO_PLAN)


def test_an_ended_case_is_owed_nothing(two_cases: Two) -> None:
    (line,) = case_lines([case("OLD", 10, 8, CaseStatus.ENDED)], *two_cases)
    assert (line.verdict, line.worst_gap) == (None, "")


def test_days_are_the_sites_own(two_cases: Two) -> None:
    late = case("LATE", 29, 23)  # 00:30 of the next day in London's summer time
    days = by_day(case_lines([case("A", 10, 8), case("B", 10, 16), late], *two_cases))
    assert [(f"{day.day}", [line.ref for line in day.lines]) for day in days] == [
        ("2026-03-10", ["A", "B"]),
        ("2026-03-30", ["LATE"]),
    ]


def test_the_tally_has_the_worst_first(two_cases: Two) -> None:
    lines = case_lines([case("A", 10, 8), case("B", 10, 16), case("NEW", 11, 8)], *two_cases)
    assert tally(lines) == (
        (Verdict.NOT_COVERED, 1),
        (Verdict.NOT_KNOWN, 1),
        (Verdict.COVERED, 1),
    )
