"""The queue of boxes not in the catalogue: each is linked to an item of it, or refused."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import ArrivalRefused
from implants.models import Arrival, Implant, LabelCode
from implants.models.arrival import Outcome
from implants.operations.receiving import ended


@transaction.atomic
def link_to_catalogue(*, arrival: Arrival, implant: Implant, by: Person, now: datetime) -> int:
    """Labels with this identity name the implant from now on; the boxes are then scanned again.

    Every entry of the queue with the same identity is done with.  How many were.  ArrivalRefused:
    not_in_the_queue, code_of_another.
    """
    arrival = _locked(arrival, by)
    if implant.site_id != by.site_id:
        raise ArrivalRefused("not_in_the_queue")
    code, made = LabelCode.objects.get_or_create(
        site=by.site, code=arrival.item, defaults={"implant": implant}
    )
    if not made and code.implant_id != implant.pk:
        raise ArrivalRefused("code_of_another", item=arrival.item, ref=code.implant.ref)
    same = Arrival.objects.filter(site=by.site, item=arrival.item, outcome=Outcome.NOT_IN_CATALOGUE)
    return same.update(outcome=Outcome.LINKED, implant=implant, ended_at=now, ended_by=by.user)


@transaction.atomic
def refuse_unknown(*, arrival: Arrival, note: str, by: Person, now: datetime) -> Arrival:
    """The box is not the house's: it goes back.  ArrivalRefused: not_in_the_queue."""
    return ended(_locked(arrival, by), Outcome.SET_ASIDE, by, now, note=note)


def _locked(arrival: Arrival, by: Person) -> Arrival:
    rows = Arrival.objects.select_for_update(of=("self",))
    there = rows.filter(pk=arrival.pk, site=by.site, outcome=Outcome.NOT_IN_CATALOGUE).first()
    if there is None:
        raise ArrivalRefused("not_in_the_queue")
    return there
