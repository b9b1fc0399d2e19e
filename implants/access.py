"""The door to the catalogue and the shelf: the rows of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet

from deploy.kit.models import Person
from implants.models import Implant, Unit


def implants_for(person: Person) -> QuerySet[Implant]:
    return Implant.objects.filter(site=person.site)


def units_for(person: Person) -> QuerySet[Unit]:
    """One query, with each box's implant."""
    return Unit.objects.filter(site=person.site).select_related("implant")
