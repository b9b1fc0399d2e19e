"""Open a recall, retrieve its boxes by scan, close it.  Each is one transaction.

A recall and a receipt of the same item lock the item first: a box is either received before, and
is recalled with the others, or after, and is stopped at the bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import RecallRefused
from implants.models import Implant, Recall, RecallBox, RecallLine, Unit
from implants.operations.holds import recall as recall_units
from implants.operations.receiving import QUARANTINE_SHELF
from implants.recalls.boxes import boxes_named
from implants.recalls.notice import Named
from implants.states import STOCK

LONGEST_REASON = 120


@transaction.atomic
def open_recall(
    *, title: str, named: Sequence[Named], is_drill: bool, by: Person, now: datetime
) -> Recall:
    """Every box that is meant is on hold at once, wherever it is, or none is.

    A drill makes the same list and holds nothing.  RecallRefused: title_missing, nothing_named.
    """
    if not title.strip():
        raise RecallRefused("title_missing")
    if not named or any(one.implant.site_id != by.site_id for one in named):
        raise RecallRefused("nothing_named")
    items = sorted({one.implant.pk for one in named})
    list(Implant.objects.select_for_update().filter(pk__in=items).order_by("pk"))
    made = Recall.objects.create(
        site=by.site, title=title.strip(), is_drill=is_drill, opened_at=now, opened_by=by.user
    )
    RecallLine.objects.bulk_create(
        RecallLine(recall=made, implant=one.implant, lot=one.lot, serial=one.serial)
        for one in named
    )
    boxes = list(boxes_named(named).filter(state__in=STOCK).order_by("pk"))
    RecallBox.objects.bulk_create(
        RecallBox(recall=made, unit=box, was=box.state, place=box.location, case_ref=box.case_ref)
        for box in boxes
    )
    if not is_drill:
        recall_units(units=boxes, reason=str(made)[:LONGEST_REASON], by=by, now=now)
    return made


@transaction.atomic
def retrieve_box(*, box: RecallBox, by: Person, now: datetime) -> RecallBox:
    """The box was found and is in quarantine.  Found before: harmless.

    RecallRefused: recall_closed, recall_elsewhere.
    """
    recall = _locked(box.recall, by)
    there = recall.boxes.select_related("unit").get(pk=box.pk)
    if there.is_done:
        return there
    there.done_at, there.done_by, there.note = now, by.user, ""
    there.save()
    if not recall.is_drill:
        Unit.objects.filter(pk=there.unit_id).update(location=QUARANTINE_SHELF)
    return there


@transaction.atomic
def explain_box(*, box: RecallBox, note: str, by: Person, now: datetime) -> RecallBox:
    """The box cannot be found, and why.  RecallRefused: recall_closed, note_missing."""
    recall = _locked(box.recall, by)
    if not note.strip():
        raise RecallRefused("note_missing")
    there = recall.boxes.get(pk=box.pk)
    there.done_at, there.done_by, there.note = now, by.user, note.strip()
    there.save()
    return there


@transaction.atomic
def close_recall(
    *,
    recall: Recall,
    by: Person,
    second: Person,
    now: datetime,
    note: str = "",
    withdrawn: bool = False,
) -> Recall:
    """Two people say that every box is found or accounted for; or that it was withdrawn.

    The boxes stay on hold: each is sent back or, looked at by two people, released.
    RecallRefused: recall_closed, two_people, boxes_open, note_missing (of a withdrawn one).
    """
    there = _locked(recall, by)
    if second.user_id == by.user_id or second.site_id != by.site_id:
        raise RecallRefused("two_people")
    left = there.boxes.filter(done_at=None).count()
    if left and not withdrawn:
        raise RecallRefused("boxes_open", number=left)
    if withdrawn and not note.strip():
        raise RecallRefused("note_missing")
    there.closed_at, there.closed_by, there.closed_second = now, by.user, second.user
    there.note, there.withdrawn = note.strip(), withdrawn
    there.save()
    return there


def _locked(recall: Recall, by: Person) -> Recall:
    """Open, of one's own site, and locked."""
    there = (
        Recall.objects.select_for_update(of=("self",)).filter(pk=recall.pk, site=by.site).first()
    )
    if there is None:
        raise RecallRefused("recall_elsewhere")
    if not there.is_open:
        raise RecallRefused("recall_closed", recall=str(there))
    return there
