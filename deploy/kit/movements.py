"""Record a movement: the one write by which an item changes its state."""

from __future__ import annotations

from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import Model

from deploy.kit.errors import MoveRefused
from deploy.kit.ledger import NOT_ENTERED, Ledger
from deploy.kit.models import Person
from deploy.kit.requests_once import current_key

Item = TypeVar("Item", bound=Model)


def locked_item(ledger: Ledger, item: Any, seq: int | None = None) -> Any:
    """The item as it stands now, locked until the transaction ends.  One query.

    `seq`: the number of the movement that the person saw last; MoveRefused (seq_stale) where
    another has come since.
    """
    items = ledger.model(ledger.item).objects.select_for_update(of=("self",))
    there = items.select_related("site").get(pk=item.pk)
    if seq is not None and there.seq != seq:
        raise MoveRefused("seq_stale", item=str(there))
    return there


@transaction.atomic
def move_item(
    ledger: Ledger,
    item: Item,
    *,
    to: str,
    kind: str,
    by: Person,
    now: datetime,
    second: Person | None = None,
    seq: int | None = None,
    **said: Any,
) -> Item:
    """Add the movement of that kind to the state `to`; the item as it stands then.

    `said`: reason, case_ref, station, and the standing in the new state (what is left out is empty
    then).  The key of the request that is being done is kept with it.  MoveRefused: seq_stale,
    item_elsewhere, move_not_allowed, second_person_missing, reason_missing.  Four queries.
    """
    there = locked_item(ledger, item, seq)
    if there.site_id != by.site_id:
        raise MoveRefused("item_elsewhere", item=str(there))
    state = getattr(there, ledger.state)
    move = (
        ledger.model(ledger.move).objects.filter(from_state=state, to_state=to, kind=kind).first()
    )
    if move is None:
        said_state = "new" if state == NOT_ENTERED else state
        raise MoveRefused("move_not_allowed", item=str(there), state=said_state, kind=kind)
    two_sign = second is not None and second.user_id != by.user_id and second.site_id == by.site_id
    if (move.two_people or second is not None) and not two_sign:
        raise MoveRefused("second_person_missing", kind=kind)
    if move.reasoned and not said.get("reason"):
        raise MoveRefused("reason_missing", kind=kind)
    ledger.model(ledger.movement).objects.create(
        **{ledger.item: there},
        seq=there.seq + 1,
        move=move,
        by_id=by.user_id,
        second_id=second.user_id if second else None,
        at=now,
        day=there.site.local(now).date(),
        **{"request_key": current_key()} | said,
    )
    there.refresh_from_db(fields=[ledger.state, "seq", *ledger.standing])
    return there  # type: ignore[no-any-return]
