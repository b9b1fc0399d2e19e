"""The clock of the checker: the house's hours and intervals, worked out anew.

Shares nothing with the engine's clock, so that a mistake in one is seen by the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.coverage.values import Case, Configuration, Implant, Site, Tray, Unit

HORIZON = 800
"""Days to look ahead for opening time; a house closed for longer is closed for good."""


def _minutes(count: int) -> timedelta:
    return timedelta(minutes=count)


class House:
    """A site's moments.  All in UTC; `after` gives None where it would be never."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.zone = ZoneInfo(site.timezone)
        self.now = site.now
        self._known: dict[tuple[datetime, int], datetime | None] = {}

    def needed_by(self, case: Case) -> datetime:
        return case.start - _minutes(self.site.needed_before_minutes)

    def end(self, case: Case) -> datetime:
        return case.start + _minutes(case.minutes)

    def out(self, case: Case) -> datetime:
        return self.end(case) + _minutes(self.site.out_of_theatre_minutes)

    def returned(self, case: Case) -> datetime:
        return self.out(case) + _minutes(self.site.shelf_return_minutes)

    def last_day(self, case: Case) -> date:
        """The local date on which the case ends: a unit's use-by date is not before it."""
        return self.end(case).astimezone(self.zone).date()

    def after(self, start: datetime, minutes: int) -> datetime | None:
        """When so many minutes of opening time have passed since `start`; None: never."""
        key = (start, minutes)
        if key not in self._known:
            self._known[key] = self._passed(start, _minutes(minutes))
        return self._known[key]

    def _passed(self, start: datetime, left: timedelta) -> datetime | None:
        if not left:
            return start
        for opens, closes in self._openings(start):
            begins = max(start, opens)
            open_for = max(closes - begins, timedelta())
            if open_for >= left:
                return begins + left
            left -= open_for
        return None

    def _openings(self, start: datetime) -> Iterator[tuple[datetime, datetime]]:
        first = start.astimezone(self.zone).date() - timedelta(days=1)
        for day in (first + timedelta(days=count) for count in range(HORIZON)):
            hours = self.site.opening.get(day.weekday())
            if hours is not None and day not in self.site.closed_dates:
                yield self._at(day, hours[0]), self._at(day, hours[1])

    def _at(self, day: date, minute: int) -> datetime:
        """A local time in UTC; one that occurs twice is its first occurrence."""
        wall = datetime.combine(day, time()) + _minutes(minute)
        return wall.replace(tzinfo=self.zone).astimezone(UTC)

    def delivered(self, ordered: datetime, item: Implant) -> datetime:
        """When an order of the item, which has a lead time, arrives that is placed at `ordered`."""
        cut_off, closed = self.site.order_cut_off_minute, set(self.site.closed_dates)
        if item.supplier is not None:
            closed.update(item.supplier.closed_dates)
            if item.supplier.order_cut_off_minute is not None:
                cut_off = item.supplier.order_cut_off_minute
        local = ordered.astimezone(self.zone)
        working = self._working_days(local.date(), closed)
        day = next(working)
        since_midnight = timedelta(
            hours=local.hour,
            minutes=local.minute,
            seconds=local.second,
            microseconds=local.microsecond,
        )
        if day == local.date() and since_midnight > _minutes(cut_off):
            day = next(working)
        for _ in range(item.lead_days or 0):
            day = next(working)
        arrives = self._at(day, self.site.delivery_minute)
        return arrives if arrives >= ordered else self._at(next(working), self.site.delivery_minute)

    @staticmethod
    def _working_days(day: date, closed: set[date]) -> Iterator[date]:
        while True:
            if day.weekday() < 5 and day not in closed:
                yield day
            day += timedelta(days=1)

    def unit_serves(self, unit: Unit, case: Case) -> str:
        """Why a unit cannot serve a case; empty where it can."""
        if unit.hold:
            return f"on hold ({unit.hold})"
        if unit.expiry is not None and unit.expiry < self.last_day(case):
            return f"use by {unit.expiry.isoformat()}"
        if unit.arrives is not None and unit.arrives < self.now:
            return "overdue"
        if unit.arrives is not None and unit.arrives > self.needed_by(case):
            return "arrives too late"
        return ""

    def tray_serves(
        self, tray: Tray, kind: Configuration, before: Case | None, case: Case
    ) -> bool | None:
        """Whether a case can have a tray, its use before being that of case `before`.

        True: on site with standard turnaround.  False: only fast-tracked or awaited.  None: no.
        """
        if tray.withdrawn or (tray.arrives is not None and tray.arrives < self.now):
            return None
        if self._is_there(tray, kind.turnaround_minutes, before, case):
            return tray.arrives is None
        fast = kind.fast_track_minutes
        if fast is not None and self._is_there(tray, fast, before, case):
            return False
        return None

    def _is_there(self, tray: Tray, turnaround: int, before: Case | None, case: Case) -> bool:
        ready: datetime | None
        if before is not None:
            ready = self.after(self.out(before), turnaround)
        elif tray.arrives is not None:
            ready = self.after(tray.arrives, self.site.loan_check_in_minutes + turnaround)
        else:
            ready = tray.ready if tray.ready is not None else self.now
            if tray.sterile_until is not None and tray.sterile_until < self.end(case):
                ready = self.after(max(self.now, ready), turnaround)
        return ready is not None and ready <= self.needed_by(case)
