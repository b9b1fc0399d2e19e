"""What the tests of ways out share: a few techniques, and how a way is asked for and tried.

`works` decides the changed scenario afresh: what a way claims is what a full run says.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.coverage.changes import (
    Change,
)
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Verdict
from scheduling.coverage.ways_out import Way, ways_out
from tests.coverage_engine.one_house import (
    rule,
    technique,
)

LONDON = ZoneInfo("Europe/London")
MINUTE = timedelta(minutes=1)
FEMORAL = technique("T", rule("reamer"), options=[["STAND"], ["BASE", "ADD"]])
STAND_ONLY = technique("T", rule("reamer"), options=[["STAND"]])
REAMER_IF_NEEDED = technique("T", options=[["STAND"]])
NO_SET = technique("T")

COVERED, NO_SPARE = Verdict.COVERED, Verdict.NO_SPARE
AT_RISK, NOT_COVERED = Verdict.AT_RISK, Verdict.NOT_COVERED


def at(text: str) -> datetime:
    """`02T16:00`: a local time in March 2027."""
    return datetime.fromisoformat(f"2027-03-{text}").replace(tzinfo=LONDON)


def verdicts(decision: Decision, change: Change) -> dict[str, Verdict]:
    """The verdicts that differ once the change is made, by a full run."""
    before = {report.case: report.verdict for report in decision.report.cases}
    after = decide(change.applied(decision.scenario))
    return {
        report.case: report.verdict
        for report in after.cases
        if before[report.case] is not report.verdict
    }


def found(decision: Decision, ref: str, kind: type[Change]) -> list[Way]:
    """The ways of a kind; all that are offered must work as they say."""
    all_ways = ways_out(decision, ref)
    assert all_ways.complete
    for way in all_ways.ways:
        assert verdicts(decision, way.change) == way.then
    return [way for way in all_ways.ways if isinstance(way.change, kind)]


def only(decision: Decision, ref: str, kind: type[Change]) -> Any:
    (way,) = found(decision, ref, kind)
    return way
