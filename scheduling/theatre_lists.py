"""The theatre lists of a day, as they are recorded or as they would be."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime, time, timedelta

from deploy.kit.models import Site
from scheduling.lists import Slot
from scheduling.models import Case, CaseStatus


def cases_on(site: Site, day: date) -> list[Case]:
    """The cases of a local day that are not cancelled, in time order.  One query."""
    begins = datetime.combine(day, time(), site.zone)
    ends = datetime.combine(day + timedelta(days=1), time(), site.zone)
    found = Case.objects.filter(site=site, start__gte=begins, start__lt=ends)
    return list(
        found.exclude(status=CaseStatus.CANCELLED)
        .select_related("theatre", "surgeon", "site")
        .order_by("start", "ref")
    )


def slots_of(site: Site, days: Collection[date], changed: Sequence[Case] = ()) -> tuple[Slot, ...]:
    """The lists of these days, with `changed` cases as they are in memory.  One query a day."""
    cases = {case.pk: case for day in days for case in cases_on(site, day)}
    cases |= {case.pk: case for case in changed}
    return tuple(slot_of(case) for case in cases.values())


def slot_of(case: Case) -> Slot:
    return Slot(
        ref=case.ref,
        theatre=case.theatre.code if case.theatre else "",
        start=case.start,
        minutes=case.minutes,
        fixed=case.status != CaseStatus.BOOKED,
    )
