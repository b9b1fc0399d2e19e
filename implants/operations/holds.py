"""Keep boxes from use, and let them go again.  Each is one transaction; `seq` as on the shelf."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.movements import locked_item, move_item
from implants.ledger import UNITS
from implants.models import Unit
from implants.states import Kind, UnitState


@transaction.atomic
def quarantine(
    *, unit: Unit, reason: str, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """The box may not be used, for the reason given.  On its way it stays expected."""
    return _hold(unit, UnitState.QUARANTINE, Kind.QUARANTINE, reason, by, now, seq)


@transaction.atomic
def recall(*, units: Iterable[Unit], reason: str, by: Person, now: datetime) -> list[Unit]:
    """All the boxes are recalled at once, wherever they are in the house, or none is.

    Locked in the order of their ids: a pick of one of them is either before this, and the picked
    box is recalled, or after it and refused.
    """
    in_order = sorted(units, key=lambda unit: unit.pk)
    return [
        _hold(unit, UnitState.RECALLED, Kind.RECALL, reason, by, now, None) for unit in in_order
    ]


@transaction.atomic
def lift_quarantine(
    *,
    unit: Unit,
    reason: str,
    by: Person,
    second: Person,
    now: datetime,
    seq: int | None = None,
) -> Unit:
    """Two people put a box in quarantine, or a recalled one, back on the shelf.

    One that has not been received yet is received first: only what is here can be looked at.
    """
    return move_item(
        UNITS,
        unit,
        to=UnitState.ON_THE_SHELF,
        kind=Kind.LIFT,
        by=by,
        second=second,
        now=now,
        seq=seq,
        reason=reason,
    )


def _hold(
    unit: Unit,
    to: UnitState,
    kind: Kind,
    reason: str,
    by: Person,
    now: datetime,
    seq: int | None,
) -> Unit:
    there = locked_item(UNITS, unit, seq)
    return move_item(
        UNITS,
        unit,
        to=to,
        kind=kind,
        by=by,
        now=now,
        reason=reason,
        hold=reason,
        expected_at=there.expected_at,
        case_ref=there.case_ref,
    )
