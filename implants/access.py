"""The door to the catalogue and the shelf: the rows of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import Http404

from deploy.kit.models import Person
from implants.models import Implant, Unit


def implants_for(person: Person) -> QuerySet[Implant]:
    return Implant.objects.filter(site=person.site)


def units_for(person: Person) -> QuerySet[Unit]:
    """One query, with each box's implant."""
    return Unit.objects.filter(site=person.site).select_related("implant")


def unit_for(person: Person, code: str) -> Unit:
    """One box by its code; Http404 alike where there is none and where it is another site's."""
    unit = units_for(person).filter(code=code).first()
    if unit is None:
        raise Http404("no such box")
    return unit
