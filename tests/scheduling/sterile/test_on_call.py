"""Called in at night: what ringing would do, and that no verdict counts on it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from deploy.kit.models import Site as HouseSite
from scheduling.coverage.values import Site
from scheduling.models import OnCallNight
from scheduling.queries import coverage_now
from scheduling.sterile.on_call import Night, called_in, nights_ahead
from tests.factories import NOW

LONDON = ZoneInfo("Europe/London")
TONIGHT, FRIDAY = Night(date(2027, 3, 1), "bleep 22"), Night(date(2027, 3, 5), "bleep 23")
# Monday 1 March 2027, 20:00; open 06:00 to 22:00 on weekdays.
EVENING = Site(
    "House",
    "Europe/London",
    datetime(2027, 3, 1, 20, tzinfo=LONDON),
    opening=dict.fromkeys(range(5), (360, 1320)),
)


def by(day: int, hour: int) -> datetime:
    return datetime(2027, 3, day, hour, tzinfo=LONDON)


def test_three_hours_of_work_are_done_in_the_night_that_somebody_is_called_in_on() -> None:
    said = called_in(EVENING, [TONIGHT], 180, by(2, 7))
    assert said is not None
    assert (said.night.contact, said.through) == ("bleep 22", by(1, 23))
    assert called_in(EVENING, [], 180, by(2, 6)) is None


def test_a_night_that_is_not_in_time_is_not_named() -> None:
    assert called_in(EVENING, [TONIGHT], 24 * 60, by(2, 7)) is None
    assert called_in(EVENING, [FRIDAY], 180, by(2, 6)) is None


def test_on_a_closed_day_there_is_its_night_alone() -> None:
    saturday = Night(date(2027, 3, 6), "bleep 24")
    # 2 h on Monday evening and 64 h until Friday evening are open; then Saturday from 20:00.
    said = called_in(EVENING, [saturday], (2 + 4 * 16) * 60 + 60, by(7, 9))
    assert said is not None
    assert said.through == by(6, 21)


@pytest.mark.django_db
def test_tonight_and_the_week_ahead_and_no_verdict_counts_on_it(site: HouseSite) -> None:
    before = coverage_now(site).report
    for days in (-2, -1, 0, 6):
        day = NOW.date() + timedelta(days=days)
        OnCallNight.objects.create(site=site, day=day, contact="bleep 22")
    assert [night.day.isoformat() for night in nights_ahead(site, NOW)] == [
        "2027-02-28",
        "2027-03-01",
    ]
    assert coverage_now(site).report == before
