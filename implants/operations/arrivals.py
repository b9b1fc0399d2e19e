"""Many boxes at once come into the house, or are said to be on their way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.db import transaction

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Person
from implants.models import Unit, UnitMove, UnitMovement
from implants.states import Kind, UnitState

BATCH = 500


@transaction.atomic
def enter_units(*, units: Sequence[Unit], by: Person, now: datetime) -> None:
    """Save new boxes, each with its first movement: awaited where `expected_at` is set, kept in
    quarantine where `hold` says why, else received and on the shelf.  A few queries for every
    500 boxes.

    IntegrityError where a code or a serial is taken.
    """
    moves = {
        move.to_state: move
        for move in UnitMove.objects.filter(
            from_state=NOT_ENTERED,
            kind__in=(Kind.RECEIVE, Kind.EXPECT),
        )
    }
    day = by.site.local(now).date()
    for first in range(0, len(units), BATCH):
        _enter(units[first : first + BATCH], moves, by=by, now=now, day=day)


def _enter(
    units: Sequence[Unit], moves: Mapping[str, UnitMove], *, by: Person, now: datetime, day: date
) -> None:
    # The database lets only a movement set these.
    standing = [(unit.expected_at, unit.hold) for unit in units]
    for unit in units:
        unit.expected_at, unit.hold = None, ""
    saved = Unit.objects.bulk_create(units)
    UnitMovement.objects.bulk_create(
        UnitMovement(
            unit=unit,
            seq=1,
            move=moves[_state(at, hold)],
            by_id=by.user_id,
            at=now,
            day=day,
            expected_at=at,
            hold=hold,
            reason=hold,
            station=unit.location,
        )
        for unit, (at, hold) in zip(saved, standing, strict=True)
    )


def _state(expected_at: datetime | None, hold: str) -> UnitState:
    if expected_at is not None:
        return UnitState.AWAITED
    return UnitState.QUARANTINE if hold else UnitState.ON_THE_SHELF
