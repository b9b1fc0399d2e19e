"""A small tray store, and what a report says of it.

A case from 08:00 takes two hours: needed by 07:00, out at 10:15.  Turnaround is six hours, or two
by fast track: after a case from 08:00 a tray serves one from 17:15, or from 13:15 in a hurry.
"""

from __future__ import annotations

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report, Status
from scheduling.coverage.values import Need
from tests.coverage_engine.build import (
    Entry,
    counts,
    kind,
    line,
    pack,
    said,
    scenario,
    site,
    tray,
)

HELD, CONDITIONAL, SHORT = Status.HELD, Status.CONDITIONAL, Status.SHORT
PLANNED, CONTINGENCY = Need.PLANNED, Need.CONTINGENCY

BASE = kind("BASE", "REAM-12", turnaround=360)
FAST = kind("BASE", "REAM-12", turnaround=360, fast=120)
ADD = kind("ADD", turnaround=360)
ALONE = kind("ALONE", turnaround=360)
SINGLE = pack("SP", "REAM-12", turnaround=360, fast=120)
LACKS_IT = tray("BASE/1", missing="REAM-12")


def decided(
    *entries: Entry | list[Entry], opening: dict[int, tuple[int, int]] | None = None
) -> Report:
    at_site = site() if opening is None else site(opening=opening)
    return decide(scenario(*entries, at_site=at_site))


def femur(report: Report, case: str) -> tuple[Status, tuple[str, ...]]:
    """The status of the case's first set, and its trays."""
    first = report.case(case).sets[0]
    return first.status, first.trays


def reamer(report: Report, case: str, need: Need = PLANNED) -> dict[str, int]:
    return counts(line(report, case, need, "REAM-12"))


def notes(report: Report, case: str) -> list[str]:
    return said(report.case(case).notes)
