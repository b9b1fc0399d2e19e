"""Check a label in theatre, and open the box.  Each is one transaction."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from deploy.kit.errors import Refused as AnyRefused
from deploy.kit.models import Person
from implants.models import Unit
from implants.states import UnitState
from scheduling.errors import Refused
from scheduling.models import Case, LabelCheck, Opening, UnitReservation
from scheduling.operations.locks import locked_case, locked_open_case
from scheduling.operations.picks import fetch_box, fetch_tray
from scheduling.operations.scans import LONGEST_KEPT
from scheduling.pick_lists.scan_values import Answer, Word
from scheduling.theatre.judging import Judged, judged
from scheduling.theatre.overriding import Takes, takes
from trays.models import Tray
from trays.operations.moves import move_tray
from trays.stages import Stage


@transaction.atomic
def check_label(*, case: Case, text: str, by: Person, now: datetime) -> LabelCheck:
    """Judge a label before its box is opened, and keep what was answered.

    MATCHES LIST takes what is not here yet: a box is picked for the case, a tray comes into
    theatre; what cannot be taken is STOP (not taken).  Every label is answered and kept.
    """
    case = locked_case(case)
    found = judged(case, text, now=now)
    if found.answer.word is Word.MATCHES_LIST:
        found = replace(found, answer=_taken(case, found, by, now))
    return kept_check(case, text, found, by, now)


def kept_check(case: Case, text: str, found: Judged, by: Person, now: datetime) -> LabelCheck:
    """The row of what was read and answered; part of another operation's transaction."""
    answer = found.answer
    return LabelCheck.objects.create(
        case=case,
        unit=found.unit,
        tray=found.tray,
        read=text.replace("\0", "")[:LONGEST_KEPT],
        answer=answer.word.value,
        reason={
            "code": answer.code,
            "asked": answer.asked,
            "read": answer.read.replace("\0", ""),
            "note": answer.note.replace("\0", ""),
            "cautions": list(found.cautions),
        },
        at=now,
        by=by.user,
    )


def _taken(case: Case, found: Judged, by: Person, now: datetime) -> Answer:
    try:
        with transaction.atomic():
            if found.unit is not None:
                fetch_box(case=case, unit=found.unit, by=by, now=now)
            if found.tray is not None:
                enter_theatre(case=case, tray=found.tray, by=by, now=now)
    except AnyRefused as refusal:
        return replace(
            found.answer,
            word=Word.STOP,
            code="not taken",
            asked="what may be taken for the case",
            read=refusal.say(),
        )
    return found.answer


@transaction.atomic
def enter_theatre(*, case: Case, tray: Tray, by: Person, now: datetime) -> Tray:
    """The tray is in theatre with the case, from the sterile store by way of its issue.

    Refused as `fetch_tray`.  In theatre with the case already: harmless.
    """
    there = fetch_tray(case=case, tray=tray, by=by, now=now)
    if there.stage == Stage.IN_THEATRE:
        return there
    return move_tray(
        tray=there,
        stage=Stage.IN_THEATRE,
        by=by,
        now=now,
        ready_at=there.ready_at,
        sterile_until=there.sterile_until,
        case_ref=there.case_ref,
    )


@transaction.atomic
def open_box(
    *,
    check: LabelCheck,
    by: Person,
    now: datetime,
    reason: str = "",
    second: Person | None = None,
) -> Opening:
    """The box whose label was checked is opened, for the check's case.

    The label is judged again, as things stand now: what has become a STOP meanwhile takes what a
    STOP takes.  A box that cannot be picked is opened where it stands; one that another case
    holds is taken from it.  Opened before, for the same case: harmless.

    Refused: case_is_over, opened_elsewhere (names the case), opening_not_possible,
    opening_takes_reason, opening_takes_two.
    """
    case = locked_open_case(check.case)
    unit = check.unit
    before = Opening.objects.select_related("case").filter(unit=unit).first() if unit else None
    if before is not None:
        if before.case_id != case.pk:
            raise Refused("opened_elsewhere", unit=before.unit.code, other=before.case.ref)
        return before
    answer = judged(case, check.read, now=now).answer
    needed = takes(answer.word, answer.code, is_known=unit is not None)
    if needed is Takes.NEVER or unit is None:
        raise Refused("opening_not_possible", read=answer.read)
    signatures_given(needed, reason, by, second)
    _fetched_if_it_may(case, unit, answer, by, now)
    return Opening.objects.create(
        case=case,
        unit=unit,
        check_made=check,
        override=reason.strip()[:120] if needed is not Takes.NOTHING else "",
        at=now,
        by=by.user,
        second=second.user if second and needed is Takes.TWO_PEOPLE else None,
    )


def signatures_given(needed: Takes, reason: str, by: Person, second: Person | None) -> None:
    """Refused: opening_takes_reason, opening_takes_two."""
    if needed is not Takes.NOTHING and not reason.strip():
        raise Refused("opening_takes_reason")
    if needed is Takes.TWO_PEOPLE and (
        second is None or second.user_id == by.user_id or second.site_id != by.site_id
    ):
        raise Refused("opening_takes_two")


def _fetched_if_it_may(case: Case, unit: Unit, answer: Answer, by: Person, now: datetime) -> None:
    """Pick the box; what the ledger does not let be picked is opened where it stands."""
    if answer.code == "promised to another case":
        UnitReservation.objects.filter(unit=unit, freed_at=None).exclude(case=case).update(
            freed_at=now
        )
    state = Unit.objects.values_list("state", flat=True).get(pk=unit.pk)
    if state not in (UnitState.ON_THE_SHELF, UnitState.PICKED):
        return
    try:
        with transaction.atomic():
            fetch_box(case=case, unit=unit, by=by, now=now)
    except AnyRefused:
        if answer.word is not Word.STOP:
            raise
