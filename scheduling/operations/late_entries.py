"""A box that was taken for a case without a scan, entered afterwards."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.operations.late_entries import enter_taken
from scheduling.errors import Refused
from scheduling.models import Case, UnitReservation


@transaction.atomic
def enter_taken_for(
    *, case: Case, unit: Unit, who: str, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """The box is picked for the case from now on; `who` took it then.

    Refused: unit_promised (to another case: free it there first), unit_wrong_side, unit_expired;
    UnitRefused, MoveRefused as `enter_taken`.
    """
    other = UnitReservation.objects.filter(unit=unit, freed_at=None).exclude(case=case).first()
    if other is not None:
        raise Refused("unit_promised", unit=unit.code, other=other.case.ref)
    side = unit.implant.attributes.get("side", "")
    if side and case.side and side != case.side:
        raise Refused(
            "unit_wrong_side",
            unit=unit.code,
            unit_side=side,
            case=case.ref,
            case_side=case.side,
        )
    today = case.site.local(now).date()
    if unit.expiry is not None and unit.expiry < today:
        raise Refused("unit_expired", unit=unit.code, expiry=unit.expiry, case=case.ref, day=today)
    return enter_taken(unit=unit, case_ref=case.ref, who=who, by=by, now=now, seq=seq)
