"""A coverage report as a table of plain text, for a terminal or a print."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from textwrap import wrap
from zoneinfo import ZoneInfo

from scheduling.cautions import DECISION_SUPPORT, LOGISTICS_AID
from scheduling.coverage.report import CaseReport, Report, Verdict
from scheduling.coverage.values import Scenario
from scheduling.gaps import gaps_of

WIDTH = 100
_VERDICT = 18
_INDENT = " " * _VERDICT


def coverage_table(scenario: Scenario, report: Report) -> str:
    """One case a paragraph in time order: the verdict first, then who, when and the worst gap.

    Below it the number of cases by verdict, and the standing cautions.
    """
    zone = ZoneInfo(scenario.site.timezone)
    name = f"{scenario.site.name}: c" if scenario.site.name else "C"
    as_of = f"as of {moment_in_words(report.now.astimezone(zone))}"
    lines = [f"{name}overage of {_cases(len(report.cases))}, {as_of}", ""]
    for case in report.cases:
        lines += _case(scenario, case, zone)
    if report.cases:
        lines.append("")
    counts = Counter(case.verdict for case in report.cases)
    said = [f"{counts[verdict]} {verdict.value}" for verdict in Verdict if counts[verdict]]
    lines.append("; ".join(said) if said else "No case is booked.")
    lines += ["", *wrap(LOGISTICS_AID, WIDTH), *wrap(DECISION_SUPPORT, WIDTH)]
    return "\n".join(lines)


def moment_in_words(local: datetime) -> str:
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}"


def _case(scenario: Scenario, report: CaseReport, zone: ZoneInfo) -> Iterator[str]:
    case = scenario.cases[report.case]
    start = moment_in_words(case.start.astimezone(zone))
    said = [part for part in (case.ref, start, case.theatre, case.surgeon) if part]
    # A word in capitals is what the eye finds first in a terminal without type.
    verdict = report.verdict.value if report.verdict in _QUIET else report.verdict.value.upper()
    yield f"{verdict:<{_VERDICT}} {', '.join(said)}"
    gaps = gaps_of(scenario, report)
    for gap in gaps[:1]:
        yield from wrap(
            gap.in_one_line, WIDTH, initial_indent=_INDENT + " ", subsequent_indent=_INDENT + " "
        )
    if len(gaps) > 1:
        yield f"{_INDENT} and {len(gaps) - 1} more"


_QUIET = frozenset({Verdict.COVERED, Verdict.NO_SPARE})


def _cases(number: int) -> str:
    return "1 case" if number == 1 else f"{number} cases"
