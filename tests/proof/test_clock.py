"""A box may be used on its use-by date, by the clock on the wall of its own hospital: from 00:00:00
of that day to 23:59:59, in every zone, on both nights on which clocks change, and on leap days.

The offsets are written out by hand from the laws that the IANA time zone database records (europe,
northamerica, australasia, asia), so that no time zone library judges itself.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest

from deploy.kit.models import Site
from implants.errors import UnitRefused
from implants.models import Unit, UnitMovement
from implants.operations.theatre import pick_unit, put_back
from scheduling.errors import Refused
from scheduling.models import Case
from scheduling.operations.reservations import free_unit, reserve_unit
from tests import factories

LEAP, LAST, SUMMER, COMMON = (
    date(2028, 2, 29),
    date(2027, 12, 31),
    date(2027, 7, 1),
    date(2027, 2, 28),
)

# Zone → day → minutes ahead of UTC at its beginning and at its end.
STEADY = {"UTC": 0, "Asia/Tokyo": 540, "Asia/Kolkata": 330, "Asia/Kathmandu": 345} | {
    "Pacific/Kiritimati": 840,
    "Pacific/Honolulu": -600,
}
CHANGING: dict[str, dict[date, tuple[int, int]]] = {
    # The last Sundays of March and October, at 01:00 UTC.
    "Europe/London": {
        date(2027, 3, 28): (0, 60),
        date(2027, 10, 31): (60, 0),
        SUMMER: (60, 60),
        **dict.fromkeys((LEAP, LAST, COMMON), (0, 0)),
    },
    "Europe/Berlin": {
        date(2027, 3, 28): (60, 120),
        date(2027, 10, 31): (120, 60),
        SUMMER: (120, 120),
        **dict.fromkeys((LEAP, LAST, COMMON), (60, 60)),
    },
    # The second Sunday of March and the first of November, at 02:00 on the wall.
    "America/New_York": {
        date(2027, 3, 14): (-300, -240),
        date(2027, 11, 7): (-240, -300),
        SUMMER: (-240, -240),
        **dict.fromkeys((LEAP, LAST, COMMON), (-300, -300)),
    },
    "America/St_Johns": {
        date(2027, 3, 14): (-210, -150),
        date(2027, 11, 7): (-150, -210),
        SUMMER: (-150, -150),
        **dict.fromkeys((LEAP, LAST, COMMON), (-210, -210)),
    },
    # The first Sundays of October and April, at 02:00 standard time; by half an hour on Lord Howe.
    "Australia/Sydney": {
        date(2027, 10, 3): (600, 660),
        date(2027, 4, 4): (660, 600),
        SUMMER: (600, 600),
        **dict.fromkeys((LEAP, LAST, COMMON), (660, 660)),
    },
    "Australia/Lord_Howe": {
        date(2027, 10, 3): (630, 660),
        date(2027, 4, 4): (660, 630),
        SUMMER: (630, 630),
        **dict.fromkeys((LEAP, LAST, COMMON), (660, 660)),
    },
    # The last Sunday of September and the first of April, at 02:00 standard time.
    "Pacific/Auckland": {
        date(2027, 9, 26): (720, 780),
        date(2027, 4, 4): (780, 720),
        SUMMER: (720, 720),
        **dict.fromkeys((LEAP, LAST, COMMON), (780, 780)),
    },
}
ZONES = CHANGING | {
    zone: dict.fromkeys((LEAP, LAST, SUMMER, COMMON), (ahead, ahead))
    for zone, ahead in STEADY.items()
}
SECOND = timedelta(seconds=1)


def moments(day: date, begins: int, ends: int) -> list[tuple[datetime, date]]:
    """Moments in UTC around the day's ends, each with the day on the wall."""
    first = datetime.combine(day, time(), timezone(timedelta(minutes=begins))).astimezone(UTC)
    last = datetime.combine(day, time(23, 59, 59), timezone(timedelta(minutes=ends)))
    last = last.astimezone(UTC)
    before, after = day - timedelta(days=1), day + timedelta(days=1)
    return [(first - SECOND, before), (first, day), (last, day), (last + SECOND, after)]


@pytest.mark.parametrize("zone", ZONES)
def test_a_box_is_used_on_its_use_by_date_and_not_after(zone, db, figures):
    site = Site.objects.create(code="there", name="There", timezone=zone)
    by = factories.person(site, "there", "implant coordinator")
    implant = factories.implant(site)
    tried = 0
    for day, (begins, ends) in ZONES[zone].items():
        unit = factories.unit(implant, f"U{day}", expiry=day)
        for moment, on_the_wall in moments(day, begins, ends):
            assert picked(unit, moment, by) is (on_the_wall <= day), (day, moment)
            if on_the_wall <= day:
                assert UnitMovement.objects.filter(unit=unit).last().day == on_the_wall
                put_back(unit=unit, by=by, now=moment)
            assert promised(unit, moment, by) is (on_the_wall <= day), (day, moment)
            tried += 2
    figures("Clock", cases=tried, wrong=0, zones=1)


def picked(unit: Unit, moment: datetime, by) -> bool:
    try:
        pick_unit(unit=unit, case_ref="C1", by=by, now=moment)
    except UnitRefused as refused:
        return refused.code != "unit_expired"
    return True


def promised(unit: Unit, ends: datetime, by) -> bool:
    """To a case that ends at that moment."""
    case = Case.objects.create(
        site=by.site, ref=f"{unit} {ends}", start=ends - timedelta(minutes=90), minutes=90
    )
    try:
        reserve_unit(case=case, unit=unit, by=by, now=ends)
    except Refused as refused:
        return refused.code != "unit_expired"
    free_unit(case=case, unit=unit, by=by, now=ends)
    return True


def test_there_are_enough_of_them():
    assert sum(8 * len(days) for days in ZONES.values()) >= 300
