"""Boxes here by how long they may still be used, and the next booked use of each.  Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario, Unit
from scheduling.ordering.leaning import Leaning, leaning_on_units

OWNERS = ("owned", "consignment", "loan")
DAYS = (30, 90, 180, 365)
"""The bands' last days; use by is inclusive."""
WITHIN = {last: f"{before + 1} to {last}" for before, last in zip((-1, *DAYS), DAYS, strict=False)}
"""Last day → `31 to 90`."""
PAST, LATER, NEVER = "past", f"over {DAYS[-1]}", "no date"


@dataclass(frozen=True, slots=True)
class Band:
    """`words`: the days left.  `counts`: boxes by owner."""

    words: str
    counts: Mapping[str, int]

    @property
    def boxes(self) -> int:
        return sum(self.counts.values())

    @property
    def by_owner(self) -> list[int]:
        return [self.counts.get(owner, 0) for owner in OWNERS]


@dataclass(frozen=True, slots=True)
class Dated:
    """A box and what the present arrangement means it for.  `days` left: 0 on the last one."""

    unit: Unit
    days: int
    promise: Leaning | None


def bands(scenario: Scenario, report: Report) -> tuple[Band, ...]:
    """Every box that is here and on no hold, in one band."""
    today = _today(scenario, report)
    counts: dict[str, Counter[str]] = {words: Counter() for words in _words()}
    for unit in scenario.shelf.values():
        if unit.arrives is None and not unit.hold:
            counts[band_of(unit.expiry, today)][unit.owner] += 1
    return tuple(Band(words, count) for words, count in counts.items())


def band_of(expiry: date | None, today: date) -> str:
    if expiry is None:
        return NEVER
    left = (expiry - today).days
    if left < 0:
        return PAST
    return next((words for days, words in WITHIN.items() if left <= days), LATER)


def short_dated(scenario: Scenario, report: Report, days: int) -> tuple[Dated, ...]:
    """Boxes here, on no hold, that are past their date or have so many days left at most, the
    first to expire first."""
    today = _today(scenario, report)
    promises = leaning_on_units(report)
    found = [
        Dated(unit, (unit.expiry - today).days, promises.get(unit.code))
        for unit in scenario.shelf.values()
        if unit.arrives is None
        and not unit.hold
        and unit.expiry is not None
        and (unit.expiry - today).days < days
    ]
    return tuple(sorted(found, key=lambda dated: (dated.days, dated.unit.code)))


def _words() -> list[str]:
    return [PAST, *WITHIN.values(), LATER, NEVER]


def _today(scenario: Scenario, report: Report) -> date:
    return report.now.astimezone(ZoneInfo(scenario.site.timezone)).date()
