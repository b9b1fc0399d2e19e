"""What the record says of every place, and when each was counted last."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date

from deploy.kit.models import Site
from implants.cost import Boxes
from implants.counting.proposals import PlaceNow, Proposal, proposals
from implants.models import Count, Implant, Unit
from implants.operations.counts import LIES
from implants.states import IN_THE_HOUSE


def places_now(site: Site) -> list[PlaceNow]:
    """Every place where boxes lie.  One query."""
    here = Unit.objects.filter(site=site, state__in=IN_THE_HOUSE, expected_at=None).order_by()
    rows = list(here.values_list("location", "implant_id", "state", "implant__price"))
    of_item = Counter(implant for _, implant, _, _ in rows)
    boxes: dict[str, Boxes] = defaultdict(Boxes)
    last_ones: Counter[str] = Counter()
    for place, implant, state, price in rows:
        if place and state in LIES:
            boxes[place] = boxes[place].and_one(price)
            last_ones[place] += of_item[implant] == 1
    return [PlaceNow(place, lying, last_ones[place]) for place, lying in boxes.items()]


def counted_on(site: Site) -> dict[str, date]:
    """The day of each place's last closed count.  One query."""
    closed = Count.objects.filter(site=site, closed_at__isnull=False).order_by("closed_at")
    return {
        place: site.local(at).date()
        for places, at in closed.values_list("places", "closed_at")
        if at is not None
        for place in places
    }


def proposed(site: Site, *, every_days: int) -> list[Proposal]:
    """Two queries."""
    return proposals(
        places_now(site),
        counted_on(site),
        today=site.local(site.now()).date(),
        every_days=every_days,
    )


def lines_of_items(site: Site) -> list[str]:
    """The lines of the catalogue, as `stem A` says one: role and system.  One query."""
    rows = Implant.objects.filter(site=site).values_list("role", "attributes__system")
    return sorted({f"{role} {system}" if system else role for role, system in rows})


def places_of_line(site: Site, line: str) -> list[str]:
    """Where boxes of the line lie.  One query."""
    rows = Unit.objects.filter(site=site, state__in=LIES, expected_at=None).exclude(location="")
    found = rows.order_by().values_list("location", "implant__role", "implant__attributes__system")
    return sorted(
        {
            place
            for place, role, system in found.distinct()
            if line == (f"{role} {system}" if system else role)
        }
    )
