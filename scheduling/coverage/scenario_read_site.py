"""The site of a scenario file: its clock, hours and intervals."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from scheduling.coverage.scenario_fields import (
    MOST_MINUTES,
    MOST_PIECES,
    STAND_IN,
    Entry,
    at,
    minute_from,
    shown,
)
from scheduling.coverage.values import DEPARTMENT_STAGES, DepartmentStage, Site

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
INTERVALS = {
    "needed_before_minutes": 60,
    "out_of_theatre_minutes": 15,
    "shelf_return_minutes": 60,
    "loan_check_in_minutes": 120,
}
KEYS = (
    "name",
    "timezone",
    "now",
    *INTERVALS,
    "order_cut_off",
    "delivery_time",
    "closed_dates",
    "sterile_services",
    "department",
)


def read_site(entry: Entry) -> tuple[Site, ZoneInfo]:
    """The site, and the zone in which the file's times are to be read.

    A name may be left out: nothing rests on it.  `now` may not.
    """
    zone = _zone(entry)
    now = None if entry.lacks("now") else entry.moment("now", zone)
    intervals = {
        key: entry.whole_or(key, default, least=0, most=MOST_MINUTES)
        for key, default in INTERVALS.items()
    }
    site = Site(
        name=entry.text("name"),
        timezone=zone.key,
        now=now or STAND_IN,
        order_cut_off_minute=_or(entry.minute_of_day("order_cut_off"), 16 * 60),
        delivery_minute=_or(entry.minute_of_day("delivery_time"), 12 * 60),
        closed_dates=entry.days("closed_dates"),
        opening=_opening(entry.inner("sterile_services", WEEKDAYS)),
        department=_department(entry.inner("department", DEPARTMENT_STAGES)),
        halted_until=None,  # A file is of the house as it works.
        **intervals,
    )
    return site, zone


def _department(entry: Entry) -> tuple[DepartmentStage, ...]:
    """The stages of reprocessing, in order; none where the house states no capacity."""
    stages = []
    for name in DEPARTMENT_STAGES:
        if name in entry:
            stage = entry.inner(name, ("places", "minutes"))
            places = stage.whole("places", least=1, most=MOST_PIECES)
            minutes = stage.whole("minutes", least=1, most=MOST_MINUTES)
            stages.append(DepartmentStage(name, places or 1, minutes or 1))
    return tuple(stages)


def _zone(entry: Entry) -> ZoneInfo:
    name = entry.data.get("timezone", "UTC")
    try:
        return ZoneInfo(name if isinstance(name, str) else "")
    except (ValueError, OSError, KeyError):
        entry.fault("timezone", f"not an IANA time zone: {shown(name)}")
        return ZoneInfo("UTC")


def _or(value: int | None, default: int) -> int:
    return default if value is None else value


def _opening(entry: Entry) -> dict[int, tuple[int, int]]:
    opening = {}
    for weekday, key in enumerate(WEEKDAYS):
        if key not in entry:
            continue
        hours = entry.data[key]
        if not isinstance(hours, list) or len(hours) != 2:
            entry.fault(key, f"not an opening and a closing time: {shown(hours)}")
            continue
        minutes = []
        for index, text in enumerate(hours):
            try:
                minutes.append(minute_from(text, midnight=True))
            except ValueError:
                place = at(at(entry.place, key), index)
                entry.faults.append(f"{place}: not a time of day: {shown(text)} (HH:MM)")
        if len(minutes) == 2:
            if minutes[0] >= minutes[1]:
                entry.fault(key, f"opens at or after it closes: {shown(hours)}")
            opening[weekday] = (minutes[0], minutes[1])
    return opening
