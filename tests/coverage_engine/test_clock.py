"""The site's clock: opening time, both nights of a clock change, deliveries, last orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.coverage.clock import NEVER, Clock, local_minute, minute, moment
from scheduling.coverage.values import Site, Supplier
from tests.coverage_engine.build import at, case, hours, site

LONDON = ZoneInfo("Europe/London")
SATURDAY, SUNDAY = 5, 6


def utc(said: str) -> datetime:
    return datetime.fromisoformat(said).replace(tzinfo=UTC)


def after(site: Site, start: str | datetime, minutes: int) -> datetime:
    begin = at(start) if isinstance(start, str) else start
    return moment(Clock(site).after(minute(begin), minutes))


# -- opening time ---------------------------------------------------------------------------------

DAYS = site(opening=hours(6, 22, range(5)))


PASSING = [
    ("Mon 08:00", 90, "Mon 09:30"),
    ("Mon 03:00", 90, "Mon 07:30"),
    ("Mon 21:00", 90, "Tue 06:30"),
    ("Mon 23:00", 90, "Tue 07:30"),
    ("Mon 22:00", 1, "Tue 06:01"),
    ("Mon 21:00", 60, "Mon 22:00"),
    ("Fri 21:00", 120, "Mon 8 Mar 07:00"),
    ("Sat 12:00", 30, "Mon 8 Mar 06:30"),
    ("Mon 06:00", 5 * 16 * 60, "Fri 22:00"),
    ("Mon 06:00", 5 * 16 * 60 + 1, "Mon 8 Mar 06:01"),
]


@pytest.mark.parametrize(("start", "minutes", "ends"), PASSING, ids=str)
def test_minutes_pass_in_opening_time_only(start: str, minutes: int, ends: str) -> None:
    assert after(DAYS, start, minutes) == at(ends)


@pytest.mark.parametrize("start", ["Mon 08:00", "Mon 23:00", "Sun 12:00"])
def test_no_minutes_after_a_moment_is_that_moment_open_or_closed(start: str) -> None:
    assert after(DAYS, start, 0) == at(start)


def test_a_closed_date_has_no_opening_time() -> None:
    closed_on_tuesday = replace(DAYS, closed_dates=frozenset({date(2027, 3, 2)}))
    assert after(closed_on_tuesday, "Mon 21:00", 90) == at("Wed 06:30")
    assert after(closed_on_tuesday, "Tue 10:00", 90) == at("Wed 07:30")


def test_open_until_midnight_and_again_from_midnight_is_open_without_a_break() -> None:
    assert after(site(), "Mon 23:00", 3 * 60) == at("Tue 02:00")


def test_open_until_midnight_ends_at_midnight() -> None:
    late = site(opening=hours(18, 24, range(5)))
    assert after(late, "Mon 22:00", 2 * 60) == at("Tue 00:00")
    assert after(late, "Mon 22:00", 2 * 60 + 1) == at("Tue 18:01")


@pytest.mark.parametrize("opening", [{}, {0: (360, 360)}], ids=["no day", "no minute"])
def test_without_opening_hours_ahead_it_is_never(opening: dict[int, tuple[int, int]]) -> None:
    clock = Clock(site(opening=opening))
    start = minute(at("Mon 08:00"))
    assert clock.after(start, 1) == NEVER
    assert clock.after(start, 0) == start
    assert clock.after(NEVER, 1) == NEVER


def test_the_answers_do_not_depend_on_what_was_asked_before() -> None:
    """One clock for all, the latest first; then weeks before; then all again."""
    clock = Clock(DAYS)
    for start, minutes, ends in reversed(PASSING):
        assert moment(clock.after(minute(at(start)), minutes)) == at(ends)
    assert moment(clock.after(minute(utc("2027-02-05 21:00")), 90)) == utc("2027-02-08 06:30")
    for start, minutes, ends in PASSING:
        assert moment(clock.after(minute(at(start)), minutes)) == at(ends)


# -- clock changes --------------------------------------------------------------------------------


def open_on(zone: str, *, weekday: int, opens: int, closes: int, first: str) -> Site:
    """Open on one weekday only, in minutes after local midnight."""
    return Site(zone, zone, utc(first), opening={weekday: (opens, closes)})


@pytest.mark.parametrize(
    ("zone", "night", "opens", "closes", "opens_utc", "minutes"),
    [
        # Europe/London: 01:00 becomes 02:00 on 28 March, 02:00 becomes 01:00 on 31 October 2027.
        ("Europe/London", "2027-03-28", "00:30", "02:30", "2027-03-28 00:30", 60),
        ("Europe/London", "2027-03-28", "00:00", "24:00", "2027-03-28 00:00", 23 * 60),
        ("Europe/London", "2027-03-28", "06:00", "22:00", "2027-03-28 05:00", 16 * 60),
        ("Europe/London", "2027-10-31", "00:00", "24:00", "2027-10-30 23:00", 25 * 60),
        ("Europe/London", "2027-10-31", "01:30", "03:00", "2027-10-31 00:30", 150),
        ("Europe/London", "2027-10-31", "00:30", "01:30", "2027-10-30 23:30", 60),
        # America/New_York: 02:00 becomes 03:00 on 14 March, 02:00 becomes 01:00 on 7 November.
        ("America/New_York", "2027-03-14", "01:00", "04:00", "2027-03-14 06:00", 120),
        ("America/New_York", "2027-11-07", "01:30", "03:00", "2027-11-07 05:30", 150),
        # Australia/Lord_Howe goes back by half an hour, 02:00 becomes 01:30 on 4 April.
        ("Australia/Lord_Howe", "2027-04-04", "00:00", "24:00", "2027-04-03 13:00", 24 * 60 + 30),
    ],
)
def test_opening_hours_are_local_on_the_night_of_a_clock_change(
    zone: str, night: str, opens: str, closes: str, opens_utc: str, minutes: int
) -> None:
    def of_day(said: str) -> int:
        return int(said[:2]) * 60 + int(said[3:])

    where = open_on(
        zone, weekday=SUNDAY, opens=of_day(opens), closes=of_day(closes), first=f"{night} 00:00"
    )
    before = utc(opens_utc) - timedelta(minutes=5)
    assert after(where, before, 1) == utc(opens_utc) + timedelta(minutes=1)
    assert after(where, before, minutes) == utc(opens_utc) + timedelta(minutes=minutes)
    # One minute more is not open any longer on that night: it passes a week later.
    assert after(where, before, minutes + 1) - utc(opens_utc) > timedelta(days=6)


def test_hours_that_the_clock_change_swallows_are_no_opening_time() -> None:
    """From 01:00 to 02:00 in London on 28 March: the hour does not exist."""
    where = open_on("Europe/London", weekday=SUNDAY, opens=60, closes=120, first="2027-03-27 00:00")
    assert after(where, utc("2027-03-27 12:00"), 1) == utc("2027-04-04 00:01")


def test_intervals_do_not_stretch_with_the_clocks() -> None:
    """Open without a break, six hours are six hours on any night."""
    where = Site("London", "Europe/London", utc("2027-03-27 00:00"), opening=hours(0, 24))
    for evening in ("2027-03-27 22:00", "2027-10-30 22:00"):
        assert after(where, utc(evening), 360) == utc(evening) + timedelta(hours=6)


def test_a_local_time_that_occurs_twice_is_its_first_occurrence() -> None:
    assert moment(local_minute(LONDON, date(2027, 10, 31), 90)) == utc("2027-10-31 00:30")


def test_a_local_time_that_is_skipped_counts_with_the_offset_before() -> None:
    assert moment(local_minute(LONDON, date(2027, 3, 28), 90)) == utc("2027-03-28 01:30")


def test_minute_1440_is_midnight_at_the_end_of_the_day() -> None:
    assert local_minute(LONDON, date(2027, 6, 1), 1440) == local_minute(LONDON, date(2027, 6, 2), 0)


# -- the moments of a case ------------------------------------------------------------------------


def test_the_moments_that_a_case_sets() -> None:
    clock = Clock(
        site(needed_before_minutes=90, out_of_theatre_minutes=20, shelf_return_minutes=45)
    )
    case_ = case("C1", "Tue 08:30", minutes=100)
    assert moment(clock.needed_by(case_)) == at("Tue 07:00")
    assert moment(clock.end(case_)) == at("Tue 10:10")
    assert moment(clock.out(case_)) == at("Tue 10:30")
    assert moment(clock.returned(case_)) == at("Tue 11:15")


@pytest.mark.parametrize(
    ("start", "last_day"),
    [("Tue 8 Jun 20:59", date(2027, 6, 8)), ("Tue 8 Jun 21:00", date(2027, 6, 9))],
    ids=["ends 23:59", "ends 00:00"],
)
def test_the_last_day_is_the_local_date_of_the_end(start: str, last_day: date) -> None:
    """In June London is an hour ahead: what ends at 23:00 UTC ends at midnight, the next day."""
    clock = Clock(site(timezone="Europe/London"))
    assert clock.last_day(case("C1", start, minutes=120)) == last_day


def test_the_same_clock_for_other_cases_forgets_the_cases_only() -> None:
    clock = Clock(DAYS)
    assert moment(clock.needed_by(case("C1", "Tue 08:00"))) == at("Tue 07:00")
    again = clock.again()
    assert moment(again.needed_by(case("C1", "Tue 09:00"))) == at("Tue 08:00")
    assert moment(clock.needed_by(case("C1", "Tue 08:00"))) == at("Tue 07:00")
    assert again.after(minute(at("Mon 21:00")), 90) == clock.after(minute(at("Mon 21:00")), 90)


# -- deliveries -----------------------------------------------------------------------------------

# Orders until 16:00, deliveries at 12:00; Monday 1 to Friday 5 March are working days.


def delivered(
    ordered: str, lead_days: int, site_: Site | None = None, supplier: Supplier | None = None
) -> datetime:
    orders = Clock(site_ or site()).orders_with(supplier)
    return moment(orders.delivery(minute(at(ordered)), lead_days))


@pytest.mark.parametrize(
    ("ordered", "lead_days", "arrives"),
    [
        ("Mon 10:00", 1, "Tue 12:00"),
        ("Mon 16:00", 1, "Tue 12:00"),  # the cut-off itself is in time
        ("Mon 16:01", 1, "Wed 12:00"),
        ("Mon 10:00", 3, "Thu 12:00"),
        ("Thu 10:00", 2, "Mon 8 Mar 12:00"),  # the weekend is not counted
        ("Fri 16:01", 1, "Tue 9 Mar 12:00"),
        ("Sat 10:00", 1, "Tue 9 Mar 12:00"),  # counts as placed on Monday
        ("Sun 23:59", 0, "Mon 8 Mar 12:00"),
        ("Mon 10:00", 0, "Mon 12:00"),
        ("Mon 12:00", 0, "Mon 12:00"),
        ("Mon 12:01", 0, "Tue 12:00"),  # today's delivery has been
        ("Mon 16:01", 0, "Tue 12:00"),
        ("Fri 13:00", 0, "Mon 8 Mar 12:00"),
    ],
)
def test_a_delivery(ordered: str, lead_days: int, arrives: str) -> None:
    assert delivered(ordered, lead_days) == at(arrives)


@pytest.mark.parametrize(
    ("ordered", "lead_days", "arrives"),
    [
        ("Mon 10:00", 1, "Wed 12:00"),  # nothing is delivered on Tuesday
        ("Mon 16:01", 1, "Thu 12:00"),  # nor is an order placed
        ("Tue 10:00", 1, "Thu 12:00"),
        ("Tue 10:00", 0, "Wed 12:00"),
        ("Mon 12:01", 0, "Wed 12:00"),
    ],
)
def test_a_closed_date_is_no_working_day(ordered: str, lead_days: int, arrives: str) -> None:
    closed = site(closed_dates=frozenset({date(2027, 3, 2)}))
    assert delivered(ordered, lead_days, closed) == at(arrives)


TUESDAY = frozenset({date(2027, 3, 2)})
EARLY, LATE = Supplier("EARLY", 9 * 60), Supplier("LATE", 18 * 60)
CLOSED = Supplier("CLOSED", closed_dates=TUESDAY)


@pytest.mark.parametrize(
    ("ordered", "supplier", "arrives"),
    [
        ("Mon 09:00", EARLY, "Tue 12:00"),
        ("Mon 09:01", EARLY, "Wed 12:00"),
        ("Mon 18:00", LATE, "Tue 12:00"),
        ("Mon 18:01", LATE, "Wed 12:00"),
        ("Mon 16:00", CLOSED, "Wed 12:00"),
        ("Mon 16:01", CLOSED, "Thu 12:00"),  # the cut-off is the house's
        ("Mon 16:00", Supplier("AS THE HOUSE"), "Tue 12:00"),
    ],
)
def test_a_suppliers_own_cut_off_and_closed_dates(
    ordered: str, supplier: Supplier, arrives: str
) -> None:
    assert delivered(ordered, 1, supplier=supplier) == at(arrives)


def test_a_suppliers_closed_dates_come_on_top_of_the_houses() -> None:
    wednesday = site(closed_dates=frozenset({date(2027, 3, 3)}))
    assert delivered("Mon 10:00", 1, wednesday, CLOSED) == at("Thu 12:00")
    assert not Clock(wednesday).is_working_day(date(2027, 3, 3))
    assert Clock(wednesday).is_working_day(date(2027, 3, 2))


def test_sterile_services_hours_do_not_touch_deliveries() -> None:
    assert delivered("Mon 10:00", 1, site(opening={})) == at("Tue 12:00")


def test_cut_off_and_delivery_are_local_times() -> None:
    """In July London is an hour ahead: the cut-off at 16:00 is 15:00 UTC."""
    london = site(timezone="Europe/London")
    assert delivered("Mon 5 Jul 15:00", 1, london) == at("Tue 6 Jul 11:00")
    assert delivered("Mon 5 Jul 15:01", 1, london) == at("Wed 7 Jul 11:00")


def test_an_order_across_a_clock_change_arrives_at_the_local_time() -> None:
    london = site(timezone="Europe/London")
    assert delivered("Fri 26 Mar 10:00", 1, london) == at("Mon 29 Mar 11:00")


# -- the last moment to order ---------------------------------------------------------------------


def last_order(
    needed_by: str,
    lead_days: int,
    site_: Site | None = None,
    supplier: Supplier | None = None,
) -> datetime | None:
    orders = Clock(site_ or site()).orders_with(supplier)
    found = orders.last_order(lead_days, minute(at(needed_by)))
    return None if found is None else moment(found)


@pytest.mark.parametrize(
    ("needed_by", "lead_days", "last"),
    [
        ("Wed 12:00", 1, "Tue 16:00"),
        ("Wed 11:59", 1, "Mon 16:00"),
        ("Tue 12:00", 1, "Mon 16:00"),
        ("Wed 07:00", 2, None),  # from Monday at the soonest Wednesday noon
        ("Mon 8 Mar 07:00", 1, "Thu 16:00"),
        ("Mon 8 Mar 12:00", 1, "Fri 16:00"),
        ("Mon 8 Mar 12:00", 0, "Mon 8 Mar 12:00"),
        ("Mon 8 Mar 11:59", 0, "Fri 12:00"),
    ],
)
def test_the_last_moment_to_order(needed_by: str, lead_days: int, last: str | None) -> None:
    assert last_order(needed_by, lead_days) == (None if last is None else at(last))


def test_where_only_an_order_now_is_in_time_it_is_now() -> None:
    """It is Saturday: what is ordered now counts as placed on Monday, until Monday's cut-off."""
    assert last_order("Tue 9 Mar 12:00", 1, site(now="Sat 09:00")) == at("Mon 8 Mar 16:00")
    assert last_order("Tue 9 Mar 12:00", 1, site(now="Mon 8 Mar 16:00")) == at("Mon 8 Mar 16:00")
    assert last_order("Tue 9 Mar 12:00", 1, site(now="Mon 8 Mar 16:01")) is None


@pytest.mark.parametrize(
    ("supplier", "last"),
    [(EARLY, "Tue 09:00"), (LATE, "Tue 18:00"), (CLOSED, "Mon 16:00")],
)
def test_the_last_moment_to_order_is_the_suppliers(supplier: Supplier, last: str) -> None:
    assert last_order("Wed 12:00", 1, supplier=supplier) == at(last)


HOUSES = {
    "noon, orders until four": site(),
    "delivery after the cut-off": site(order_cut_off_minute=9 * 60, delivery_minute=17 * 60),
    "Wednesday closed": site(closed_dates=frozenset({date(2027, 3, 3)})),
    "another zone": site(timezone="America/New_York"),
    "a weekend with a clock change": site(now="Thu 25 Mar 06:00", timezone="Europe/London"),
}


@pytest.mark.parametrize("house", HOUSES.values(), ids=HOUSES.keys())
@pytest.mark.parametrize("supplier", [None, EARLY, CLOSED])
@pytest.mark.parametrize("lead_days", range(3))
def test_one_minute_later_is_no_longer_in_time(
    house: Site, supplier: Supplier | None, lead_days: int
) -> None:
    clock = Clock(house)
    orders = clock.orders_with(supplier)
    quarters = range(clock.now, clock.now + 7 * 24 * 60, 15)
    arrivals = [(t, orders.delivery(t, lead_days)) for t in quarters]
    for needed_by in quarters[20::40]:
        last = orders.last_order(lead_days, needed_by)
        if last is None:
            assert not [t for t, arrives in arrivals if arrives <= needed_by]
        else:
            assert orders.delivery(last, lead_days) <= needed_by
            assert orders.delivery(last + 1, lead_days) > needed_by
            assert not [t for t, arrives in arrivals if t > last and arrives <= needed_by]
