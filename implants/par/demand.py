"""The house's own use of every item, from the ledger of boxes."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import Count, Min

from deploy.kit.models import Site
from implants.models import UnitMovement
from implants.par.proposal import Demand
from implants.states import Kind
from implants.uses import USED


def days_on_record(site: Site, today: date, most: int) -> int:
    """How many of the last `most` days the ledger knows of; at least 1.  One query."""
    first = UnitMovement.objects.filter(unit__site=site).aggregate(first=Min("day"))["first"]
    known = (today - first).days + 1 if first else 1
    return max(1, min(most, known))


def demand_by_ref(site: Site, today: date, days: int) -> dict[str, Demand]:
    """REF → what was implanted, wasted or lost in so many days up to today; what was corrected
    since does not count, and items without use are left out.  One query."""
    rows = (
        UnitMovement.objects.filter(
            unit__site=site,
            unit__state__in=USED,
            move__kind__in=(Kind.IMPLANT, Kind.WASTE),
            day__gt=today - timedelta(days=days),
        )
        .order_by()
        .values_list("unit__implant__ref")
        .annotate(Count("unit", distinct=True))
    )
    return {ref: Demand(uses, days) for ref, uses in rows}
