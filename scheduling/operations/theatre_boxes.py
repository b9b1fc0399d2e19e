"""What came of a box in theatre: implanted, wasted, back unopened.  Each is one transaction.

The same said again for the same case is harmless.  What happened can always be recorded, also
for a case that has ended.
"""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.operations import theatre as ledger
from implants.states import UnitState
from scheduling.errors import Refused
from scheduling.models import Case, CaseStatus, Opening
from scheduling.operations.locks import locked_case, locked_unit
from scheduling.operations.sizes_used import note_size
from scheduling.theatre.waste import WasteReason


@transaction.atomic
def record_implanted(
    *,
    case: Case,
    unit: Unit,
    by: Person,
    now: datetime,
    reason: str = "",
    second: Person | None = None,
    seq: int | None = None,
) -> Unit:
    """The box's implant is in the patient; beside it what the plan had for the role is kept.

    A reason and a second person given at the opening stand for the record too.  Refused:
    case_not_run, box_not_opened, implant_takes_two (the other side); UnitRefused and MoveRefused
    as the ledger has them.
    """
    case, there = _of_case(case, unit)
    if there.state == UnitState.IMPLANTED and there.case_ref == case.ref:
        return there
    opening = Opening.objects.select_related("second__person").filter(unit=there, case=case).first()
    if opening is None:
        raise Refused("box_not_opened", unit=there.code)
    if opening.second is not None and second is None:
        reason, second = reason or opening.override, opening.second.person
    try:
        with transaction.atomic():
            moved = ledger.record_implanted(
                unit=there,
                case_ref=case.ref,
                by=by,
                now=now,
                reason=reason,
                second=second,
                seq=seq,
            )
    except IntegrityError:
        raise Refused("implant_takes_two", unit=there.code) from None
    note_size(case=case, implant=there.implant, unit=there, by=by, now=now)
    return moved


@transaction.atomic
def record_wasted(
    *,
    case: Case,
    unit: Unit,
    why: WasteReason,
    by: Person,
    now: datetime,
    note: str = "",
    seq: int | None = None,
) -> Unit:
    """The box was opened and not used, or cannot be used any more.

    Refused: case_not_run; MoveRefused as the ledger has it.
    """
    case, there = _of_case(case, unit)
    if there.state == UnitState.WASTED and there.case_ref == case.ref:
        return there
    said = f"{why.value}: {note.strip()}" if note.strip() else why.value
    return ledger.record_wasted(
        unit=there, reason=said[:120], by=by, now=now, case_ref=case.ref, seq=seq
    )


@transaction.atomic
def return_unopened(
    *, case: Case, unit: Unit, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """The box goes back to the shelf, as it came.

    Refused: case_not_run, box_was_opened (the database refuses it too), box_not_of_case;
    MoveRefused as the ledger has it.
    """
    case, there = _of_case(case, unit)
    if there.state == UnitState.ON_THE_SHELF:
        return there
    if there.state == UnitState.PICKED and there.case_ref != case.ref:
        raise Refused("box_not_of_case", unit=there.code, other=there.case_ref, case=case.ref)
    if Opening.objects.filter(unit=there).exists():
        raise Refused("box_was_opened", unit=there.code)
    return ledger.put_back(unit=there, by=by, now=now, seq=seq)


def _of_case(case: Case, unit: Unit) -> tuple[Case, Unit]:
    """Both as they stand now, locked in the house's order."""
    case = locked_case(case)
    if case.status == CaseStatus.CANCELLED:
        raise Refused("case_not_run", case=case.ref)
    return case, locked_unit(unit)
