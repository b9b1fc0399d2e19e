"""What happens to a box for a case.  Each is one transaction; `seq` as on the shelf.

What was implanted can always be recorded, for it must be traceable; a box that should not have
been used takes a reason and a second person.
"""

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
def pick_unit(
    *,
    unit: Unit,
    case_ref: str,
    by: Person,
    now: datetime,
    station: str = "",
    seq: int | None = None,
) -> Unit:
    """The box has been fetched for the case.  Picked for that case already: harmless.

    UnitRefused: unit_picked (names the other case), unit_expired (use by is inclusive).
    """
    there = locked_item(UNITS, unit, seq)
    if there.state == UnitState.PICKED and there.site_id == by.site_id:
        if there.case_ref != case_ref:
            raise UnitRefused("unit_picked", unit=there.code, other=there.case_ref)
        return there  # type: ignore[no-any-return]
    if _is_out_of_date(there, now):
        raise UnitRefused("unit_expired", unit=there.code, expiry=there.expiry)
    return move_item(
        UNITS,
        unit,
        to=UnitState.PICKED,
        kind=Kind.PICK,
        by=by,
        now=now,
        case_ref=case_ref,
        station=station,
    )


def put_back(
    *, unit: Unit, by: Person, now: datetime, station: str = "", seq: int | None = None
) -> Unit:
    """A picked box is back on the shelf, unopened."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.ON_THE_SHELF,
        kind=Kind.PUT_BACK,
        by=by,
        now=now,
        station=station,
        seq=seq,
    )


@transaction.atomic
def record_implanted(
    *,
    unit: Unit,
    case_ref: str,
    by: Person,
    now: datetime,
    reason: str = "",
    second: Person | None = None,
    station: str = "",
    seq: int | None = None,
) -> Unit:
    """The box was used in the case.

    One past its use-by date, on hold or not received needs `reason` and `second`: UnitRefused
    (unit_expired_override), MoveRefused (second_person_missing, reason_missing).
    """
    there = locked_item(UNITS, unit, seq)
    if _is_out_of_date(there, now) and not (reason and second):
        raise UnitRefused("unit_expired_override", unit=there.code, expiry=there.expiry)
    return move_item(
        UNITS,
        unit,
        to=UnitState.IMPLANTED,
        kind=Kind.IMPLANT,
        by=by,
        second=second,
        now=now,
        reason=reason,
        case_ref=case_ref,
        station=station,
    )


def record_wasted(
    *,
    unit: Unit,
    reason: str,
    by: Person,
    now: datetime,
    case_ref: str = "",
    station: str = "",
    seq: int | None = None,
) -> Unit:
    """The box was opened and not used, dropped, or thrown away."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.WASTED,
        kind=Kind.WASTE,
        by=by,
        now=now,
        reason=reason,
        case_ref=case_ref,
        station=station,
        seq=seq,
    )


def correct_record(
    *,
    unit: Unit,
    reason: str,
    by: Person,
    second: Person,
    now: datetime,
    seq: int | None = None,
) -> Unit:
    """Two people say that a box recorded as gone (implanted, wasted, returned) is not: it goes to
    quarantine, never straight back to the shelf."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.QUARANTINE,
        kind=Kind.CORRECT,
        by=by,
        second=second,
        now=now,
        reason=reason,
        hold=reason,
        seq=seq,
    )


def _is_out_of_date(unit: Unit, now: datetime) -> bool:
    return unit.expiry is not None and unit.expiry < unit.site.local(now).date()
