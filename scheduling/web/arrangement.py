"""The arrangement that the engine shows, seen from the other side: by tray and by box."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from scheduling.coverage.report import Report, Status
from scheduling.coverage.values import Need


@dataclass(frozen=True, slots=True)
class TrayUse:
    """One tray in one case, from `needed_by` until it is `out` of theatre (UTC)."""

    tray: str
    case: str
    purpose: str
    status: Status
    needed_by: datetime
    out: datetime


@dataclass(frozen=True, slots=True)
class Promise:
    """A box held for, or on its way to, one case's need."""

    unit: str
    case: str
    need: Need
    needed_by: datetime


def uses_by_tray(report: Report) -> Mapping[str, tuple[TrayUse, ...]]:
    """Every tray's uses in time order.  Trays that no case uses are left out.

    A supplementary pack counts as conditional where it is the case's only one that could be:
    the report does not say which pack is, so packs carry no status of their own but held.
    """
    uses: dict[str, list[TrayUse]] = defaultdict(list)
    for case in report.cases:
        taken = [(tray, line.purpose, line.status) for line in case.sets for tray in line.trays]
        taken += [(pack, "supplementary pack", Status.HELD) for pack in case.packs]
        for tray, purpose, status in taken:
            uses[tray].append(TrayUse(tray, case.case, purpose, status, case.needed_by, case.out))
    return {
        tray: tuple(sorted(of_tray, key=lambda use: (use.needed_by, use.case)))
        for tray, of_tray in uses.items()
    }


def promise_by_unit(report: Report) -> Mapping[str, Promise]:
    """Which case each box serves.  A box serves one need of one case at most."""
    return {
        unit: Promise(unit, case.case, line.need, case.needed_by)
        for case in report.cases
        for line in case.lines
        for unit in line.units
    }
