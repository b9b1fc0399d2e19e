"""What would change, and what can still be done, as plain text for a terminal or a print."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from zoneinfo import ZoneInfo

from scheduling.cautions import DECISION_SUPPORT, LOGISTICS_AID
from scheduling.coverage.report import CaseReport
from scheduling.coverage.values import Scenario
from scheduling.coverage.ways_out import WaysOut
from scheduling.coverage.whatif import CaseDifference, Difference
from scheduling.coverage_table import WIDTH, moment_in_words
from scheduling.ways_out_now import ways_said
from scheduling.what_then import gap_in_words

MOST_NAMED = 4
"""Of what is better or worse for a case: sets come first, then planned lines."""

CAUTIONS = ["", *wrap(LOGISTICS_AID, WIDTH), *wrap(DECISION_SUPPORT, WIDTH)]


def ways_out_table(scenario: Scenario, found: WaysOut, report: CaseReport) -> str:
    """What can still be done for one case, the cheapest first, each with its effects below it."""
    said = ways_said(scenario, report, found)
    lines = [f"What can still be done for case {found.case}, now {report.verdict}:"]
    if said.partial:
        lines.append("Nothing makes the verdict better; this closes a gap:")
    for number, way in enumerate((*said.free, *said.costing), start=1):
        lines += _wrapped(f"{number}. ", way.do)
        lines += _wrapped("   ", way.effects)
    lines += [text for text in (said.nothing, said.stopped) if text]
    return "\n".join(lines)


def difference_table(before: Scenario, after: Scenario, difference: Difference) -> str:
    """The cases that change, in time order: the verdict before and after, then what for."""
    zone = ZoneInfo(after.site.timezone)
    old, new = (
        moment_in_words(report.now.astimezone(zone))
        for report in (difference.before, difference.after.report)
    )
    moments = f"as of {old}" if old == new else f"as of {old} and {new}"
    lines = [f"What would change, {moments}", ""]
    for case in difference.cases:
        lines += _case(before, after, case, zone)
    if not difference.cases:
        lines.append("No case changes.")
    return "\n".join([*lines, *CAUTIONS])


def _case(
    before: Scenario, after: Scenario, difference: CaseDifference, zone: ZoneInfo
) -> Iterator[str]:
    scenario = after if difference.case in after.cases else before
    start = moment_in_words(scenario.cases[difference.case].start.astimezone(zone))
    old, new = (verdict.value if verdict else "not booked" for verdict in difference.verdicts)
    verdicts = f"{old} -> {new}" if difference.verdict_changes else f"{old}, as before"
    yield f"{difference.case}, {start}: {verdicts}"
    for word, changed in (("better", difference.better), ("worse", difference.worse)):
        if changed:
            named = [gap_in_words(scenario, gap) for gap in changed[:MOST_NAMED]]
            more = len(changed) - len(named)
            said = ", ".join(named) + (f" and {more} more" if more else "")
            yield from _wrapped("   ", f"{word}: {said}")


def _wrapped(first: str, text: str) -> list[str]:
    return wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_on_hyphens=False,  # codes stay whole
    )
