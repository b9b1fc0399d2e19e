"""One item's stock day by day, with booked use, first expiring first.  Pure.

Two courses: with what booked cases plan, and with all that they may want (contingency and spare
too).  A box that is on its way counts from the day on which it is due; one that is overdue does
not, for nobody knows when it comes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from scheduling.coverage.report import Report
from scheduling.coverage.values import Need, Scenario, Unit

AFTER_THE_LAST = 7
SHORTEST, LONGEST = 28, 84
"""Days shown: a week after the last thing that happens, within these."""


class Kind(StrEnum):
    """In the order of a day: what comes, then what is used, then what is past its date."""

    COMES = "comes"
    USED = "used"
    EXPIRES = "past its use-by date"


@dataclass(frozen=True, slots=True)
class Event:
    """`number` boxes on a day.  `who`: the case, or the box.  `missing`: how many of a use no
    box is there for."""

    day: date
    kind: Kind
    number: int
    who: str
    missing: int = 0


@dataclass(frozen=True, slots=True)
class Course:
    """`levels`: (day, boxes at its end) wherever the number changes, from today on."""

    start: int
    events: tuple[Event, ...]
    levels: tuple[tuple[date, int], ...]

    @property
    def runs_short(self) -> Event | None:
        """The first use for which a box is missing."""
        return next((event for event in self.events if event.missing), None)


@dataclass(frozen=True, slots=True)
class StockOverTime:
    today: date
    until: date
    planned: Course
    wanted: Course


def stock_over_time(scenario: Scenario, report: Report, ref: str) -> StockOverTime:
    """KeyError for an item that the catalogue has not.  No query."""
    scenario.implants[ref]
    zone = ZoneInfo(scenario.site.timezone)
    today = _day(report.now, zone)
    boxes = [unit for unit in scenario.shelf.values() if unit.implant == ref and not unit.hold]
    courses = [
        course(today, boxes, list(_uses(scenario, report, ref, needs, zone)), report.now, zone)
        for needs in ((Need.PLANNED,), tuple(Need))
    ]
    # Dates of boxes that lie for years would stretch the picture; cases and arrivals do not.
    last = max(
        (event.day for each in courses for event in each.events if event.kind is not Kind.EXPIRES),
        default=today,
    )
    days = min(LONGEST, max(SHORTEST, (last - today).days + AFTER_THE_LAST))
    return StockOverTime(today, today + timedelta(days=days), *courses)


def course(
    today: date, boxes: Iterable[Unit], uses: list[Event], now: datetime, zone: ZoneInfo
) -> Course:
    """Boxes and uses as they meet; use by is inclusive."""
    here: list[date] = []
    comes: list[tuple[date, date, str]] = []
    for box in boxes:
        use_by = box.expiry or date.max
        if box.arrives is None:
            if use_by >= today:
                here.append(use_by)
        elif box.arrives >= now:
            comes.append((_day(box.arrives, zone), use_by, box.code))
    start = len(here)
    arrivals = [Event(day, Kind.COMES, 1, code) for day, _, code in comes]
    lives = {code: use_by for _, use_by, code in comes}
    events: list[Event] = []
    order = list(Kind)
    for event in sorted((*arrivals, *uses), key=lambda e: (e.day, order.index(e.kind), e.who)):
        events += _expired(here, event.day)
        if event.kind is Kind.COMES:
            here.append(lives[event.who])
            events.append(event)
            continue
        here.sort()
        taken = min(event.number, len(here))
        del here[:taken]
        events.append(
            Event(event.day, event.kind, event.number, event.who, missing=event.number - taken)
        )
    events += _expired(here, date.max)
    return Course(start, tuple(events), tuple(_levels(today, start, events)))


def _expired(here: list[date], day: date) -> list[Event]:
    """Boxes whose last day lies before this one; taken off."""
    gone = sorted(use_by for use_by in here if use_by < day and use_by != date.max)
    for use_by in gone:
        here.remove(use_by)
    return [Event(use_by + timedelta(days=1), Kind.EXPIRES, 1, "") for use_by in gone]


def _levels(today: date, start: int, events: list[Event]) -> list[tuple[date, int]]:
    levels = {today: start}
    level = start
    for event in events:
        change = event.number - event.missing
        level += change if event.kind is Kind.COMES else -change
        levels[event.day] = level
    return sorted(levels.items())


def _uses(
    scenario: Scenario, report: Report, ref: str, needs: tuple[Need, ...], zone: ZoneInfo
) -> Iterable[Event]:
    for case in report.cases:
        number = sum(
            line.quantity for line in case.lines if line.item == ref and line.need in needs
        )
        if number:
            day = _day(scenario.cases[case.case].start, zone)
            yield Event(day, Kind.USED, number, case.case)


def _day(moment: datetime, zone: ZoneInfo) -> date:
    return moment.astimezone(zone).date()
