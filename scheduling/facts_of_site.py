"""The site with its clock, hours and intervals, as the engine's input."""

from __future__ import annotations

from datetime import datetime, timedelta

from deploy.kit.models import Site
from scheduling.coverage import values
from scheduling.models import ClosedDate, OpeningHours
from scheduling.models.house import house_of


def rounded_down(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)


def rounded_up(moment: datetime) -> datetime:
    whole = rounded_down(moment)
    return whole if whole == moment else whole + timedelta(minutes=1)


def transport_minutes(site: Site) -> int:
    """One way between theatre and sterile services, in opening minutes.  One query."""
    return house_of(site).transport_minutes


def site_values(site: Site, now: datetime) -> values.Site:
    """The site with its clock and intervals; without house settings the defaults of a new one.

    3 queries.
    """
    house = house_of(site)
    return values.Site(
        name=site.name,
        timezone=site.timezone,
        now=rounded_down(now),
        needed_before_minutes=house.needed_before_minutes,
        out_of_theatre_minutes=house.out_of_theatre_minutes,
        shelf_return_minutes=house.shelf_return_minutes,
        loan_check_in_minutes=house.loan_check_in_minutes,
        order_cut_off_minute=house.order_cut_off_minute,
        delivery_minute=house.delivery_minute,
        closed_dates=frozenset(ClosedDate.objects.filter(site=site).values_list("day", flat=True)),
        opening={
            hours.weekday: (hours.opens_minute, hours.closes_minute)
            for hours in OpeningHours.objects.filter(site=site)
        },
        department=house.department(),
    )
