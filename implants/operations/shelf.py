"""What comes to the shelf and leaves it without a case.  Each is one transaction.

`seq` is the number of the box's last movement that the person saw; MoveRefused (seq_stale) where
another has come since.  All raise MoveRefused as `deploy.kit.movements.move_item` says.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.movements import move_item
from implants.ledger import UNITS
from implants.models import Unit
from implants.states import HELD, Kind, UnitState


@transaction.atomic
def enter_unit(
    *,
    unit: Unit,
    by: Person,
    now: datetime,
    expected_at: datetime | None = None,
    reason: str = "",
    station: str = "",
) -> Unit:
    """Save a new box and enter it: awaited where it is expected, else received.

    `reason`: why it failed its check on arrival, which keeps it in quarantine.
    """
    unit.save(force_insert=True)
    if expected_at is not None:
        return expect_unit(unit=unit, expected_at=expected_at, by=by, now=now)
    return receive_unit(unit=unit, by=by, now=now, reason=reason, station=station)


def expect_unit(
    *, unit: Unit, expected_at: datetime, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """A box is on its way, or its time has changed."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.AWAITED,
        kind=Kind.EXPECT,
        by=by,
        now=now,
        seq=seq,
        expected_at=expected_at,
    )


@transaction.atomic
def receive_unit(
    *,
    unit: Unit,
    by: Person,
    now: datetime,
    reason: str = "",
    station: str = "",
    seq: int | None = None,
) -> Unit:
    """A box is here.  It goes to the shelf; to quarantine where `reason` says what is wrong with
    it; and one that was put on hold on its way stays on hold."""
    state = Unit.objects.values_list("state", flat=True).get(pk=unit.pk)
    to = UnitState.QUARANTINE if reason else UnitState.ON_THE_SHELF
    if state in HELD:
        to, reason = UnitState(state), reason or unit.hold
    return move_item(
        UNITS,
        unit,
        to=to,
        kind=Kind.RECEIVE,
        by=by,
        now=now,
        seq=seq,
        reason=reason,
        hold=reason,
        station=station,
    )


@transaction.atomic
def put_away(
    *, unit: Unit, location: str, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """A box on the shelf has its place there."""
    moved = move_item(
        UNITS,
        unit,
        to=UnitState.ON_THE_SHELF,
        kind=Kind.PUT_AWAY,
        by=by,
        now=now,
        seq=seq,
        station=location,
    )
    moved.location = location
    moved.save(update_fields=["location"])
    return moved


def return_to_supplier(
    *, unit: Unit, by: Person, now: datetime, reason: str = "", seq: int | None = None
) -> Unit:
    """A box on the shelf or on hold has gone back."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.RETURNED,
        kind=Kind.RETURN,
        by=by,
        now=now,
        seq=seq,
        reason=reason,
    )


def strike_unit(
    *, unit: Unit, reason: str, by: Person, now: datetime, seq: int | None = None
) -> Unit:
    """The box was entered in error; its entries stay."""
    return move_item(
        UNITS,
        unit,
        to=UnitState.STRUCK,
        kind=Kind.STRIKE,
        by=by,
        now=now,
        seq=seq,
        reason=reason,
    )
