"""Record a box that theatre used and the house never received, or that such an entry was an error.

Each is one transaction, and takes two people: nobody checked the box on arrival, no hold and no
recall of the house could stop it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Implant, Unit
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, CaseStatus, OutsideBox, OutsideBoxVoid, Used
from scheduling.operations.locks import locked_case
from scheduling.operations.scans import LONGEST_KEPT
from scheduling.operations.sizes_used import note_size

LONGEST_REASON = 120


@dataclass(frozen=True, slots=True)
class Label:
    """What the box says.  `use_by` None: the label says that it does not expire."""

    role: str
    words: str
    maker: str
    ref: str
    lot: str = ""
    serial: str = ""
    use_by: date | None = None
    gtin: str = ""


@transaction.atomic
def record_outside_box(
    *,
    case: Case,
    label: Label,
    outcome: Used,
    reason: str,
    by: Person,
    second: Person | None,
    now: datetime,
    read: str = "",
) -> OutsideBox:
    """Keep what the label says and what came of the box.  The same serial again is harmless.

    NotUsable (outside_invalid) with all faults; Refused: case_not_run, outside_takes_two,
    box_is_on_record (a box of the house has this REF and serial: that one is to be recorded).
    """
    case = locked_case(case)
    if case.status == CaseStatus.CANCELLED:
        raise Refused("case_not_run", case=case.ref)
    faults = _faults(label, reason)
    if faults:
        raise NotUsable("outside_invalid", faults)
    another = _another(second, by)
    implant = _of_the_catalogue(case, label)
    if label.serial:
        own = Unit.objects.filter(implant=implant, serial=label.serial).first() if implant else None
        if own is not None:
            raise Refused("box_is_on_record", unit=own.code, state=own.state)
        before = case.outside_boxes.filter(ref=label.ref, serial=label.serial, void=None).first()
        if before is not None:
            return before
    box = OutsideBox.objects.create(
        case=case,
        outcome=outcome,
        implant=implant,
        role=label.role,
        words=label.words,
        maker=label.maker,
        ref=label.ref,
        gtin=label.gtin,
        lot=label.lot,
        serial=label.serial,
        use_by=label.use_by,
        does_not_expire=label.use_by is None,
        read=read.replace("\0", "")[:LONGEST_KEPT],
        reason=reason.strip(),
        at=now,
        by=by.user,
        second=another.user,
    )
    if outcome == Used.IMPLANTED and implant is not None:
        note_size(case=case, implant=implant, outside=box, by=by, now=now)
    return box


def _faults(label: Label, reason: str) -> list[str]:
    faults = [
        f"{name}: missing"
        for name, text in (("role", label.role), ("description", label.words), ("REF", label.ref))
        if not text.strip()
    ]
    if not label.maker.strip():
        faults.append("maker: missing")
    if not (label.lot or label.serial):
        faults.append("LOT or serial: one of them, as the label has it")
    if not 1 <= len(reason.strip()) <= LONGEST_REASON:
        faults.append(f"reason: 1 to {LONGEST_REASON} letters")
    return faults


def _another(second: Person | None, by: Person) -> Person:
    if second is None or second.user_id == by.user_id or second.site_id != by.site_id:
        raise Refused("outside_takes_two")
    return second


def _of_the_catalogue(case: Case, label: Label) -> Implant | None:
    """By GTIN, else by REF and maker: catalogue numbers are unique only within a maker."""
    catalogue = Implant.objects.filter(site=case.site_id)
    by_gtin = catalogue.filter(gtin=label.gtin).first() if label.gtin else None
    return by_gtin or catalogue.filter(ref=label.ref, maker=label.maker).first()


@transaction.atomic
def void_outside_box(
    *, box: OutsideBox, reason: str, by: Person, second: Person | None, now: datetime
) -> OutsideBoxVoid:
    """The entry was an error: it leaves the record, and stays in the case's history.

    Refused: outside_takes_two, outside_void_before; NotUsable (outside_invalid).
    """
    locked_case(box.case)
    if not 1 <= len(reason.strip()) <= LONGEST_REASON:
        raise NotUsable("outside_invalid", [f"reason: 1 to {LONGEST_REASON} letters"])
    another = _another(second, by)
    if OutsideBoxVoid.objects.filter(box=box).exists():
        raise Refused("outside_void_before", box=str(box))
    return OutsideBoxVoid.objects.create(
        box=box, reason=reason.strip(), at=now, by=by.user, second=another.user
    )
