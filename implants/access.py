"""The door to the catalogue and the shelf: the rows of the person's own site."""

from __future__ import annotations

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from deploy.kit.models import Person
from implants.models import Count, CountLine, Implant, Recall, Unit
from implants.models.count import Found


def implants_for(person: Person) -> QuerySet[Implant]:
    return Implant.objects.filter(site=person.site)


def units_for(person: Person) -> QuerySet[Unit]:
    """One query, with each box's implant."""
    return Unit.objects.filter(site=person.site).select_related("implant")


def unit_for(person: Person, code: str) -> Unit:
    """One box by its code; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(units_for(person), code=code)


def recalls_for(person: Person) -> QuerySet[Recall]:
    return Recall.objects.filter(site=person.site).select_related("site")


def recall_for(person: Person, pk: int) -> Recall:
    """One query; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(recalls_for(person), pk=pk)


def counts_for(person: Person) -> QuerySet[Count]:
    return Count.objects.filter(site=person.site).select_related("site", "opened_by")


def count_for(person: Person, pk: int) -> Count:
    """One query; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(counts_for(person), pk=pk)


def open_lines_for(person: Person) -> QuerySet[CountLine]:
    """Differences of closed counts that nobody has explained yet."""
    lines = CountLine.objects.filter(
        count__site=person.site, count__closed_at__isnull=False, explained=""
    )
    return lines.exclude(found=Found.EXPECTED, counted_at__isnull=False)
