"""Which boxes a recall means: of an item, by lot or serial.  Capitals do not matter, to be safe."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from django.db.models import Q, QuerySet

from implants.models import Implant, RecallLine, Unit
from implants.recalls.notice import Named


def boxes_named(named: Iterable[Named | RecallLine]) -> QuerySet[Unit]:
    """Every box that is meant, wherever it is now, gone ones too."""
    return Unit.objects.filter(meant(named)).select_related("implant")


def _the_item(implant: Implant) -> Q:
    return Q(implant=implant)


def meant(named: Iterable[Named | RecallLine], item: Callable[[Implant], Q] = _the_item) -> Q:
    """A condition on rows that have a `lot`, a `serial`, and by `item` what they are."""
    rows = Q(pk__in=[])
    for one in named:
        of_item = item(one.implant)
        if one.lot:
            of_item &= Q(lot__iexact=one.lot)
        if one.serial:
            of_item &= Q(serial__iexact=one.serial)
        rows |= of_item
    return rows


def recall_of(implant: Implant, lot: str, serial: str) -> str:
    """Why a box of the item with this lot and serial is recalled; empty if it is not.

    A recall is in force until it is withdrawn.  One query.
    """
    lines = RecallLine.objects.filter(
        implant=implant, recall__is_drill=False, recall__withdrawn=False
    )
    this = Q(lot="", serial="")
    if lot:
        this |= Q(lot__iexact=lot)
    if serial:
        this |= Q(serial__iexact=serial)
    found = lines.filter(this).select_related("recall").first()
    return str(found.recall) if found else ""
