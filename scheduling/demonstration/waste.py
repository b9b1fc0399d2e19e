"""One box of the demonstration that was dropped in theatre, in the last of the cases on record."""

from __future__ import annotations

from datetime import timedelta

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Implant, Unit
from implants.operations.arrivals import enter_units
from implants.operations.theatre import pick_unit
from scheduling.models import Case, CaseStatus
from scheduling.operations.theatre_boxes import record_wasted
from scheduling.theatre.waste import WasteReason

HEAD = "NH-C3600"


@transaction.atomic
def make_demo_waste(*, site: Site, by: Person) -> Unit:
    """Fetched for the case, and dropped before it was opened.  After `make_demo_sizes`."""
    case = Case.objects.filter(site=site, status=CaseStatus.ENDED).latest("start", "ref")
    head = Unit(
        site=site,
        code="OLD/DROPPED",
        implant=Implant.objects.get(site=site, ref=HEAD),
        lot="B90001",
        expiry=(case.start + timedelta(days=900)).date(),
    )
    enter_units(units=[head], by=by, now=case.start - timedelta(days=30))
    pick_unit(unit=head, case_ref=case.ref, by=by, now=case.start)
    return record_wasted(
        case=case,
        unit=head,
        why=WasteReason.DROPPED,
        note="onto the floor, on its way to the table",
        by=by,
        now=case.start + timedelta(minutes=70),
    )
