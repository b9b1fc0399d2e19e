"""The site's clock: opening time, deliveries, and the moments that a case sets.

The engine reckons in whole minutes since 1970 in UTC, as plain integers (`Minute`): comparing and
adding them is all that the claims need.  Local time enters in three places only: opening hours,
the order cut-off and delivery, and the date on which a case ends.  A clock change therefore
shifts opening hours but never an interval.
"""

from __future__ import annotations

from bisect import bisect_right
from copy import copy
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.coverage.values import Case, Site, Supplier

Minute = int

NEVER: Minute = 1 << 40
"""Later than every date that a calendar can say: what can never be, compares as too late."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = timedelta(days=1)
_MINUTE = timedelta(minutes=1)
_LAST_YEAR = 9000


def minute(moment: datetime) -> Minute:
    """An aware datetime as minutes since 1970; seconds are cut off."""
    return (moment - _EPOCH) // _MINUTE


def moment(at: Minute) -> datetime:
    """Minutes since 1970 as an aware datetime in UTC.  Not for NEVER."""
    return _EPOCH + timedelta(minutes=at)


def local_minute(zone: ZoneInfo, day: date, minute_of_day: int) -> Minute:
    """A local time of day; 1440 is midnight at the day's end.

    A time that occurs twice (clocks go back) is its first occurrence; a time that is
    skipped (clocks go forward) counts with the offset before the change.
    """
    midnight = datetime(day.year, day.month, day.day)  # noqa: DTZ001 the zone is set below
    local = midnight + timedelta(minutes=minute_of_day)
    return minute(local.replace(tzinfo=zone, fold=0).astimezone(UTC))


def _local_date(zone: ZoneInfo, at: Minute) -> date:
    return moment(at).astimezone(zone).date()


class _Opening:
    """Sterile services' opening time: a table of intervals that grows as it is asked."""

    def __init__(self, site: Site, zone: ZoneInfo) -> None:
        self._site = site
        self._zone = zone
        # Opening intervals from `_first_day` on, in order, without the empty ones: when each
        # opens and closes, and how many minutes were open before it.
        self._first_day = site.now.astimezone(zone).date() - _DAY
        self._next_day = self._first_day
        self._begins = local_minute(zone, self._first_day, 0)
        until = site.halted_until
        self._halt = None if until is None else (minute(site.now), minute(until))
        self._opens: list[Minute] = []
        self._closes: list[Minute] = []
        self._open_before: list[int] = []

    def after(self, start: Minute, minutes: int) -> Minute:
        """When `minutes` of opening time have passed since `start`; NEVER where none is ahead."""
        if start >= NEVER or (minutes > 0 and not self._site.opening):
            return NEVER
        if minutes <= 0:
            return start
        self._begin_before(start)
        while not self._closes or self._open_until_end() - self._open_until(start) < minutes:
            if self._next_day.year >= _LAST_YEAR:
                return NEVER
            self._add_day()
        target = self._open_until(start) + minutes
        # The interval in which the target is reached: the last that begins before it.
        index = bisect_right(self._open_before, target - 1) - 1
        return self._opens[index] + target - self._open_before[index]

    def between(self, start: Minute, end: Minute) -> int:
        self._begin_before(start)
        while self._next_day <= _local_date(self._zone, end):
            self._add_day()
        return max(0, self._open_until(end) - self._open_until(start))

    def _open_until(self, at: Minute) -> int:
        """Minutes open before `at`, counted from the beginning of the table."""
        index = bisect_right(self._opens, at) - 1
        if index < 0:
            return 0
        return self._open_before[index] + min(at, self._closes[index]) - self._opens[index]

    def _open_until_end(self) -> int:
        return self._open_before[-1] + self._closes[-1] - self._opens[-1]

    def _begin_before(self, at: Minute) -> None:
        """Rebuild the table from an earlier day where `at` lies before its beginning."""
        if at >= self._begins:
            return
        day = _local_date(self._zone, at)
        if day < self._first_day:
            self._first_day = self._next_day = day - _DAY
            self._begins = local_minute(self._zone, self._first_day, 0)
            self._opens, self._closes, self._open_before = [], [], []

    def _add_day(self) -> None:
        day = self._next_day
        self._next_day = day + _DAY
        hours = self._site.opening.get(day.weekday())
        if hours is None or day in self._site.closed_dates:
            return
        opens, closes = (
            local_minute(self._zone, day, hours[0]),
            local_minute(self._zone, day, hours[1]),
        )
        if self._halt is None:
            self._add(opens, closes)
        else:
            halts, goes_on = self._halt
            self._add(opens, min(closes, halts))
            self._add(max(opens, goes_on), closes)

    def _add(self, opens: Minute, closes: Minute) -> None:
        if opens < closes:
            self._open_before.append(self._open_until_end() if self._closes else 0)
            self._opens.append(opens)
            self._closes.append(closes)


class Orders:
    """When an order is placed, and when it arrives, with one supplier, or (None) with all who
    have no terms of their own.  A supplier's closed dates come on top of the house's."""

    def __init__(self, site: Site, zone: ZoneInfo, supplier: Supplier | None) -> None:
        self._now = minute(site.now)
        self._zone = zone
        self._delivery_minute = site.delivery_minute
        own = supplier or Supplier("")
        self.cut_off_minute = (
            site.order_cut_off_minute
            if own.order_cut_off_minute is None
            else own.order_cut_off_minute
        )
        self._closed_dates = site.closed_dates | own.closed_dates
        self._deliveries: dict[tuple[Minute, int], Minute] = {}

    def is_working_day(self, day: date) -> bool:
        """Monday to Friday, closed dates excepted."""
        return day.weekday() < 5 and day not in self._closed_dates

    def _next_working_day(self, day: date) -> date:
        day += _DAY
        while not self.is_working_day(day):
            day += _DAY
        return day

    def delivery(self, ordered: Minute, lead_days: int) -> Minute:
        """When an order placed at `ordered` with a lead of `lead_days` working days arrives."""
        key = (ordered, lead_days)
        if key not in self._deliveries:
            self._deliveries[key] = self._delivery(ordered, lead_days)
        return self._deliveries[key]

    def _delivery(self, ordered: Minute, lead_days: int) -> Minute:
        day = _local_date(self._zone, ordered)
        cut_off = local_minute(self._zone, day, self.cut_off_minute)
        if not self.is_working_day(day) or ordered > cut_off:
            day = self._next_working_day(day)
        for _ in range(lead_days):
            day = self._next_working_day(day)
        arrives = local_minute(self._zone, day, self._delivery_minute)
        if arrives < ordered:
            day = self._next_working_day(day)
            arrives = local_minute(self._zone, day, self._delivery_minute)
        return arrives

    def last_order(self, lead_days: int, needed_by: Minute) -> Minute | None:
        """The last moment, not before now, at which an order still arrives by `needed_by`.

        None where even an order placed now comes too late.  Orders count by working day, so
        the answer is a cut-off time, or the delivery itself where the lead is 0.
        """
        if self.delivery(self._now, lead_days) > needed_by:
            return None
        best = self._now
        day = _local_date(self._zone, self._now)
        last = _local_date(self._zone, needed_by)
        while day <= last:
            for at in (self.cut_off_minute, self._delivery_minute):
                candidate = local_minute(self._zone, day, at)
                if candidate > best and self.delivery(candidate, lead_days) <= needed_by:
                    best = candidate
            day += _DAY
        return best


@dataclass(frozen=True, slots=True)
class CaseTimes:
    """`needed_by`: it needs everything.  `out`: its trays leave theatre.  `returned`: its unused
    contingency implants are back on the shelf.  `last_day`: the local date on which it ends, on
    which its implants must be in date."""

    needed_by: Minute
    end: Minute
    last_day: date
    out: Minute
    returned: Minute


class Clock:
    """Answers every question about time for one site, and remembers the answers."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.now = minute(site.now)
        self._zone = ZoneInfo(site.timezone)
        self._opening = _Opening(site, self._zone)
        self._times: dict[str, CaseTimes] = {}
        self._after: dict[tuple[Minute, int], Minute] = {}
        self._orders: dict[Supplier | None, Orders] = {}

    def again(self) -> Clock:
        """The same clock for other cases: what was reckoned for the site stays, cases go."""
        clock = copy(self)
        clock._times = {}
        return clock

    # -- a case's moments ---------------------------------------------------------------------

    def times(self, case: Case) -> CaseTimes:
        """The moments that the case sets.  Remembered: every claim asks for them."""
        times = self._times.get(case.ref)
        if times is None:
            start = minute(case.start)
            end = start + case.minutes
            out = end + self.site.out_of_theatre_minutes
            times = self._times[case.ref] = CaseTimes(
                needed_by=start - self.site.needed_before_minutes,
                end=end,
                last_day=self.local_date(end),
                out=out,
                returned=out + self.site.shelf_return_minutes,
            )
        return times

    def needed_by(self, case: Case) -> Minute:
        return self.times(case).needed_by

    def end(self, case: Case) -> Minute:
        return self.times(case).end

    def out(self, case: Case) -> Minute:
        return self.times(case).out

    def returned(self, case: Case) -> Minute:
        return self.times(case).returned

    def last_day(self, case: Case) -> date:
        return self.times(case).last_day

    def local(self, moment: datetime | None) -> datetime | None:
        """The moment as the clocks on the site's walls show it; None stays None."""
        return None if moment is None else moment.astimezone(self._zone)

    def local_date(self, at: Minute) -> date:
        return _local_date(self._zone, at)

    def after(self, start: Minute, minutes: int) -> Minute:
        """When `minutes` of opening time have passed since `start`; NEVER where none is ahead.

        Remembered: the same cases and turnarounds come up in every group of trays.
        """
        key = start, minutes
        if key not in self._after:
            self._after[key] = self._opening.after(start, minutes)
        return self._after[key]

    def latest_start(self, minutes: int, ready_by: Minute) -> Minute | None:
        """The last moment, now or later, from which `minutes` of opening time have passed by
        `ready_by`; None where it is too late even now."""
        if self.after(self.now, minutes) > ready_by:
            return None
        early, late = self.now, ready_by  # starts in time, and at the latest
        while early < late:
            middle = (early + late + 1) // 2
            if self._opening.after(middle, minutes) <= ready_by:
                early = middle
            else:
                late = middle - 1
        return early

    def open_between(self, start: Minute, end: Minute) -> int:
        """Minutes of opening time from `start` to `end`, 0 where `end` is not later."""
        return self._opening.between(start, end)

    def local_minute(self, day: date, minute_of_day: int) -> Minute:
        """A local time of day as a minute; see `local_minute` of this module."""
        return local_minute(self._zone, day, minute_of_day)

    # -- orders and deliveries ----------------------------------------------------------------

    def is_working_day(self, day: date) -> bool:
        """Monday to Friday, closed dates excepted."""
        return self.orders_with(None).is_working_day(day)

    def orders_with(self, supplier: Supplier | None) -> Orders:
        """When the supplier's orders are placed and delivered; None: who has no terms of its own.

        Remembered, with its answers: sharing and ways out ask the same again and again.
        """
        if supplier not in self._orders:
            self._orders[supplier] = Orders(self.site, self._zone, supplier)
        return self._orders[supplier]
