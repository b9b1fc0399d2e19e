"""Which boxes a recall means: of an item, by lot or serial.  Capitals do not matter, to be safe."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q, QuerySet

from implants.models import Implant, RecallLine, Unit
from implants.recalls.notice import Named


def boxes_named(named: Iterable[Named | RecallLine]) -> QuerySet[Unit]:
    """Every box that is meant, wherever it is now, gone ones too."""
    meant = Q(pk__in=[])
    for one in named:
        of_item = Q(implant=one.implant)
        if one.lot:
            of_item &= Q(lot__iexact=one.lot)
        if one.serial:
            of_item &= Q(serial__iexact=one.serial)
        meant |= of_item
    return Unit.objects.filter(meant).select_related("implant")


def recall_of(implant: Implant, lot: str, serial: str) -> str:
    """Why a box of the item with this lot and serial is recalled; empty if it is not.

    A recall is in force until it is withdrawn.  One query.
    """
    lines = RecallLine.objects.filter(
        implant=implant, recall__is_drill=False, recall__withdrawn=False
    )
    meant = Q(lot="", serial="")
    if lot:
        meant |= Q(lot__iexact=lot)
    if serial:
        meant |= Q(serial__iexact=serial)
    found = lines.filter(meant).select_related("recall").first()
    return str(found.recall) if found else ""
