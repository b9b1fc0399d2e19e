"""The door to instruments, configurations, trays and loads: the rows of the person's own site."""

from __future__ import annotations

from django.db.models import Count, F, OuterRef, Prefetch, QuerySet, Subquery
from django.shortcuts import get_object_or_404

from deploy.kit.models import Person
from trays.models import Configuration, ConfigurationVersion, CountPhoto, Instrument, Load, Tray


def instruments_for(person: Person) -> QuerySet[Instrument]:
    return Instrument.objects.filter(site=person.site)


def configurations_for(person: Person) -> QuerySet[Configuration]:
    """Each with the count sheet in force as `in_force` (a list of one, or of none).

    Four queries: configurations, sheets, lines, instruments.
    """
    newest = ConfigurationVersion.objects.filter(configuration=OuterRef("configuration"))
    in_force = ConfigurationVersion.objects.alias(
        newest=Subquery(newest.order_by("-number").values("number")[:1])
    ).filter(number=F("newest"))
    return Configuration.objects.filter(site=person.site).prefetch_related(
        Prefetch("versions", in_force.prefetch_related("contents__instrument"), to_attr="in_force")
    )


def trays_for(person: Person) -> QuerySet[Tray]:
    """Each with its configuration, its count sheet's number and what it lacks.

    Three queries: trays, missing lines, instruments.
    """
    return (
        Tray.objects.filter(site=person.site)
        .select_related("configuration", "version")
        .prefetch_related("missing_lines__instrument")
    )


def tray_for(person: Person, code: str) -> Tray:
    """One tray by its code; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(trays_for(person), code=code)


def tray_at(person: Person, pk: int) -> Tray:
    """One tray; Http404 alike where there is none and where it is another site's."""
    trays = Tray.objects.filter(site=person.site)
    return get_object_or_404(trays.select_related("configuration", "version", "site"), pk=pk)


def photo_for(person: Person, pk: int) -> CountPhoto:
    """One photograph of a count; Http404 alike where there is none and where it is another
    site's."""
    return get_object_or_404(CountPhoto.objects, line__count__tray__site=person.site, pk=pk)


def loads_for(person: Person) -> QuerySet[Load]:
    """The newest first, each with its machine and with `inside`, how many trays it holds."""
    return (
        Load.objects.filter(machine__site=person.site)
        .select_related(
            "machine", "started_by", "closed_by", "biological_by", "released_by", "withdrawn_by"
        )
        .annotate(inside=Count("packs", distinct=True) + Count("washes", distinct=True))
    )


def load_for(person: Person, pk: int) -> Load:
    """One load; Http404 alike where there is none and where it is another site's."""
    return get_object_or_404(loads_for(person), pk=pk)
