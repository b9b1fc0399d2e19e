"""Moments in UTC from local times, opening hours, turnarounds and deliveries."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NEVER = datetime.max.replace(tzinfo=UTC)
MINUTE = timedelta(minutes=1)


class Clock:
    def __init__(self, site: dict[str, Any]) -> None:
        self.zone = ZoneInfo(site.get("timezone", "UTC"))
        self.now = self.moment(site["now"])
        self.needed_before = site.get("needed_before_minutes", 60) * MINUTE
        self.out_of_theatre = site.get("out_of_theatre_minutes", 15) * MINUTE
        self.shelf_return = site.get("shelf_return_minutes", 60) * MINUTE
        self.loan_check_in = site.get("loan_check_in_minutes", 120)
        self.cut_off = time.fromisoformat(site.get("order_cut_off", "16:00"))
        self.delivery_time = time.fromisoformat(site.get("delivery_time", "12:00"))
        self.closed = {date.fromisoformat(text) for text in site.get("closed_dates", [])}
        self.hours = {
            DAYS.index(day): tuple(_minutes(text) for text in hours)
            for day, hours in site.get("sterile_services", {}).items()
        }
        self._after: dict[tuple[datetime, int], datetime] = {}

    def moment(self, text: str) -> datetime:
        return self._utc(datetime.fromisoformat(text))

    def _utc(self, local: datetime) -> datetime:
        return local.replace(tzinfo=self.zone, fold=0).astimezone(UTC)

    def local(self, moment: datetime) -> datetime:
        return moment.astimezone(self.zone)

    def open_on(self, day: date) -> tuple[datetime, datetime] | None:
        """The opening of one local date, in UTC."""
        if day in self.closed or day.weekday() not in self.hours:
            return None
        opens, closes = self.hours[day.weekday()]
        midnight = datetime.combine(day, time())
        return self._utc(midnight + opens * MINUTE), self._utc(midnight + closes * MINUTE)

    def after(self, start: datetime, minutes: int) -> datetime:
        """The first moment when so many minutes of opening time have passed since `start`."""
        key = (start, minutes)
        if key not in self._after:
            self._after[key] = self._walk(start, minutes)
        return self._after[key]

    def _walk(self, start: datetime, minutes: int) -> datetime:
        if minutes == 0:
            return start
        left = minutes * MINUTE
        day = self.local(start).date() - timedelta(days=1)
        for _ in range(400):
            hours = self.open_on(day)
            if hours is not None:
                begin = max(start, hours[0])
                if begin < hours[1]:
                    if begin + left <= hours[1]:
                        return begin + left
                    left -= hours[1] - begin
            day += timedelta(days=1)
        return NEVER

    # -- deliveries -----------------------------------------------------------------------------

    def delivered(
        self, ordered: datetime, lead_days: int, supplier: dict[str, Any] | None
    ) -> datetime:
        """When an order placed at `ordered` with the supplier, as the file has it, arrives."""
        said = supplier or {}
        closed = self.closed | {date.fromisoformat(text) for text in said.get("closed_dates", [])}
        text = said.get("order_cut_off")
        cut_off = time.fromisoformat(text) if text else self.cut_off

        def works(day: date) -> bool:
            return day.weekday() < 5 and day not in closed

        def next_working_day(day: date) -> date:
            day += timedelta(days=1)
            while not works(day):
                day += timedelta(days=1)
            return day

        local = self.local(ordered)
        day = local.date()
        if not works(day) or local.time() > cut_off:
            day = next_working_day(day)
        for _ in range(lead_days):
            day = next_working_day(day)
        arrives = self._utc(datetime.combine(day, self.delivery_time))
        if arrives < ordered:
            day = next_working_day(day)
            arrives = self._utc(datetime.combine(day, self.delivery_time))
        return arrives

    # -- a case ---------------------------------------------------------------------------------

    def start(self, case: dict[str, Any]) -> datetime:
        return self.moment(case["start"])

    def end(self, case: dict[str, Any]) -> datetime:
        return self.start(case) + case["minutes"] * MINUTE

    def needed_by(self, case: dict[str, Any]) -> datetime:
        return self.start(case) - self.needed_before

    def out(self, case: dict[str, Any]) -> datetime:
        return self.end(case) + self.out_of_theatre

    def returned(self, case: dict[str, Any]) -> datetime:
        return self.out(case) + self.shelf_return


def _minutes(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)
