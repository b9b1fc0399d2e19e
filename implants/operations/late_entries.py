"""What was taken without a scan, entered afterwards."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.movements import locked_item, move_item
from implants.errors import UnitRefused
from implants.ledger import UNITS
from implants.models import Unit
from implants.states import Kind, UnitState


@transaction.atomic
def enter_taken(
    *,
    unit: Unit,
    case_ref: str,
    who: str,
    by: Person,
    now: datetime,
    seq: int | None = None,
) -> Unit:
    """The box was fetched for a case, by `who`, and nobody scanned it then.

    It is picked from now on; what theatre records next (implanted, wasted, put back) follows.
    UnitRefused: taken_by_missing; MoveRefused where the box is not on the shelf.
    """
    there = locked_item(UNITS, unit, seq)
    if not who.strip():
        raise UnitRefused("taken_by_missing", unit=there.code)
    return move_item(
        UNITS,
        unit,
        to=UnitState.PICKED,
        kind=Kind.PICK,
        by=by,
        now=now,
        case_ref=case_ref,
        reason=f"entered late; taken by {who.strip()}"[:120],
    )
