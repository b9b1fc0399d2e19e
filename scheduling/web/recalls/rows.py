"""Recalls and their boxes as the pages and the print show them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import Count, Q, QuerySet

from deploy.kit.models import Site
from implants.models import Recall, RecallBox, RecallLine, Unit, UnitMovement
from implants.recalls.boxes import boxes_named, meant
from implants.states import Kind, UnitState
from scheduling.models import OutsideBox, Used


@dataclass(frozen=True, slots=True)
class RecallRow:
    """One recall in the list; `opened` is local."""

    recall: Recall
    opened: datetime
    boxes: int
    left: int


def recall_rows(recalls: QuerySet[Recall]) -> list[RecallRow]:
    """One query."""
    counted = recalls.annotate(
        box_count=Count("boxes"), left=Count("boxes", filter=Q(boxes__done_at=None))
    )
    return [
        RecallRow(one, one.site.local(one.opened_at), one.box_count, one.left) for one in counted
    ]


def boxes_of(recall: Recall) -> list[RecallBox]:
    """By place.  One query."""
    return list(recall.boxes.select_related("unit__implant", "done_by"))


def by_place(boxes: Sequence[RecallBox]) -> list[tuple[str, list[RecallBox]]]:
    """In walking order; what was awaited or with a case stands under that."""

    def place(box: RecallBox) -> str:
        if box.was == UnitState.AWAITED:
            return "Not here yet"
        if box.was == UnitState.PICKED:
            return f"Picked for case {box.case_ref}"
        return box.place or "No place recorded"

    ordered = sorted(boxes, key=lambda box: (place(box), box.unit.code))
    return [(name, list(found)) for name, found in groupby(ordered, place)]


@dataclass(frozen=True, slots=True)
class Recipient:
    """A box that was implanted: for which case and on which day.

    `was_received` False: the house never had it on its shelf, theatre entered its label.
    """

    box: Unit | OutsideBox
    case: str
    day: datetime
    was_received: bool


def implanted_units(named: Sequence[RecallLine]) -> QuerySet[Unit]:
    return boxes_named(named).filter(state=UnitState.IMPLANTED)


def implanted_outside(site: Site, named: Sequence[RecallLine]) -> QuerySet[OutsideBox]:
    """By REF: when it was entered the catalogue may not have had the item."""
    rows = OutsideBox.objects.filter(case__site=site, outcome=Used.IMPLANTED, void=None)
    this = meant(named, lambda implant: Q(implant=implant) | Q(ref__iexact=implant.ref))
    return rows.filter(this).select_related("implant", "case")


def recipients(recall: Recall) -> list[Recipient]:
    """The cases that received an implant of the recall; for the named implant lead.  4 queries."""
    named = list(recall.lines.select_related("implant"))
    gone = implanted_units(named)
    movements = UnitMovement.objects.filter(unit__in=gone, move__kind=Kind.IMPLANT)
    days = dict(movements.order_by("seq").values_list("unit", "at"))
    local = recall.site.local
    found = [Recipient(unit, unit.case_ref, local(days[unit.pk]), True) for unit in gone]
    found += [
        Recipient(box, box.case.ref, local(box.at), False)
        for box in implanted_outside(recall.site, named)
    ]
    return sorted(found, key=lambda one: (one.day, one.case))
