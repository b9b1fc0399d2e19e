"""Fetch for a case: a box is picked, a tray is issued.  Each is one transaction.

What is with the case already stays as it is, so that a scan that comes twice is harmless.
"""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.operations.theatre import pick_unit
from scheduling.errors import Refused
from scheduling.models import Case
from scheduling.operations.locks import locked_open_case, locked_tray
from trays.models import Tray
from trays.operations.moves import move_tray
from trays.stages import Stage


@transaction.atomic
def fetch_box(*, case: Case, unit: Unit, by: Person, now: datetime, station: str = "") -> Unit:
    """The box leaves the shelf for the case.

    Refused: case_is_over, pick_not_yours (the person may fetch trays alone), changed_meanwhile
    (the database refuses: another case holds it, it is for the other side, out of date).
    UnitRefused and MoveRefused as `pick_unit` has them.
    """
    if not by.user.has_perm("scheduling.pick_boxes"):
        raise Refused("pick_not_yours", unit=unit.code)
    case = locked_open_case(case)
    try:
        with transaction.atomic():
            return pick_unit(unit=unit, case_ref=case.ref, by=by, now=now, station=station)
    except IntegrityError:
        raise Refused("changed_meanwhile", item=f"Box {unit.code}") from None


@transaction.atomic
def fetch_tray(*, case: Case, tray: Tray, by: Person, now: datetime, station: str = "") -> Tray:
    """The tray leaves the sterile store for the case; its times stay as they are.

    Refused: case_is_over, tray_issued (to another case), tray_not_sterile (past its date).
    MoveRefused (move_not_allowed) from any stage but the sterile store.
    """
    case = locked_open_case(case)
    there = locked_tray(tray)
    if there.stage in (Stage.ISSUED, Stage.IN_THEATRE) and there.site_id == by.site_id:
        if there.case_ref != case.ref:
            raise Refused("tray_issued", tray=there.code, other=there.case_ref or "not recorded")
        return there
    if there.sterile_until is not None and there.sterile_until < now:
        until = case.site.local(there.sterile_until)
        raise Refused("tray_not_sterile", tray=there.code, until=until)
    return move_tray(
        tray=there,
        stage=Stage.ISSUED,
        by=by,
        now=now,
        ready_at=there.ready_at,
        sterile_until=there.sterile_until,
        case_ref=case.ref,
        station=station,
    )
