"""Say by scan what came of a box: the label, often peeled from it, is read again."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from deploy.kit.errors import Refused as AnyRefused
from deploy.kit.models import Person
from implants.models import Unit
from implants.states import UnitState
from scheduling.models import Case, LabelCheck
from scheduling.operations.locks import locked_case
from scheduling.operations.theatre_boxes import record_implanted, record_wasted, return_unopened
from scheduling.operations.theatre_checks import check_label, kept_check, open_box
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import Answer, BoxRead, Word
from scheduling.theatre.asking import CaseBoxes, case_boxes
from scheduling.theatre.judging import Judged
from scheduling.theatre.labels import boxes_of_label
from scheduling.theatre.outcomes import Outcome
from scheduling.theatre.waste import WasteReason


@transaction.atomic
def scan_outcome(
    *,
    case: Case,
    text: str,
    outcome: Outcome,
    by: Person,
    now: datetime,
    why: WasteReason = WasteReason.OTHER,
    note: str = "",
) -> LabelCheck:
    """Record what came of the box that the label names, and keep what was read and answered.

    Of boxes that the label cannot tell apart it is the first that is still open.  One that is to
    be recorded as implanted and was not opened is checked first, and opened where it matches.
    """
    case = locked_case(case)
    what, cautions = read(text, site=case.site, today=case.site.local(now).date())
    boxes = case_boxes(case)
    found = boxes_of_label(what, boxes) if isinstance(what, BoxRead) else []
    if not found:
        stop = Answer(
            Word.STOP, "not of this case", None, f"a box taken for case {case.ref}", what.said
        )
        return kept_check(case, text, Judged(stop, cautions=cautions), by, now)
    unit = _the_one(found, boxes, outcome)
    if outcome is Outcome.IMPLANTED and unit.pk not in boxes.opened and _is_open(unit):
        check = check_label(case=case, text=text, by=by, now=now)
        if check.answer != Word.MATCHES_LIST or check.unit_id != unit.pk:
            return check
        open_box(check=check, by=by, now=now)
    answer = _recorded(case, unit, outcome, by, now, why, note)
    return kept_check(case, text, Judged(answer, unit=unit, cautions=cautions), by, now)


def _is_open(unit: Unit) -> bool:
    return unit.state not in (UnitState.IMPLANTED, UnitState.WASTED, UnitState.RETURNED)


def _the_one(found: list[Unit], boxes: CaseBoxes, outcome: Outcome) -> Unit:
    """What the outcome is most likely about: an opened box is used, an unopened one goes back."""
    wants_opened = outcome is not Outcome.RETURNED

    def rank(unit: Unit) -> tuple[bool, bool, str]:
        return (not _is_open(unit), (unit.pk in boxes.opened) is not wants_opened, unit.code)

    return min(found, key=rank)


def _recorded(
    case: Case,
    unit: Unit,
    outcome: Outcome,
    by: Person,
    now: datetime,
    why: WasteReason,
    note: str,
) -> Answer:
    words = f"{unit.implant.in_words()}, box {unit.code}"
    answer = Answer(Word.MATCHES_LIST, f"recorded as {outcome.value}", unit.pk, words, words)
    try:
        with transaction.atomic():
            if outcome is Outcome.IMPLANTED:
                moved = record_implanted(case=case, unit=unit, by=by, now=now)
            elif outcome is Outcome.WASTED:
                moved = record_wasted(case=case, unit=unit, why=why, note=note, by=by, now=now)
            else:
                moved = return_unopened(case=case, unit=unit, by=by, now=now)
    except AnyRefused as refusal:
        return replace(
            answer,
            word=Word.STOP,
            code="not recorded",
            asked=f"a box that can be recorded as {outcome.value}",
            read=refusal.say(),
        )
    if moved.seq == unit.seq:
        return replace(answer, word=Word.ALREADY_SCANNED, code="already recorded")
    return answer
