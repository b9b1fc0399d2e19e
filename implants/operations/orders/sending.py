"""Hand an order to its supplier, and end it.  Each is one transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Order, Replacement
from implants.operations.orders.recording import locked_order, record
from implants.order_queries import lines_of
from implants.order_states import OrderKind, OrderState


@transaction.atomic
def send_order(*, order: Order, by: Person, now: datetime, seq: int | None = None) -> Order:
    """The supplier has it: by print, workbook or telephone.  OrderRefused (order_empty)."""
    there = locked_order(order, by, seq)
    if not there.lines.exists():
        raise OrderRefused("order_empty", order=there.code)
    return record(there, OrderKind.SEND, to=OrderState.SENT, by=by, now=now)


@transaction.atomic
def close_order(*, order: Order, by: Person, now: datetime, seq: int | None = None) -> Order:
    """Nothing more is to come.  OrderRefused (boxes_to_come) while something is."""
    there = locked_order(order, by, seq)
    to_come = sum(line.undated + line.awaited for line in lines_of(there))
    if to_come:
        raise OrderRefused("boxes_to_come", order=there.code, boxes=to_come)
    return record(there, OrderKind.CLOSE, to=OrderState.CLOSED, by=by, now=now)


@transaction.atomic
def open_again(
    *, order: Order, reason: str, by: Person, now: datetime, seq: int | None = None
) -> Order:
    """It was closed too soon."""
    there = locked_order(order, by, seq)
    return record(
        there, OrderKind.OPEN_AGAIN, to=OrderState.CONFIRMED, by=by, now=now, reason=reason
    )


@transaction.atomic
def cancel_order(
    *, order: Order, reason: str, by: Person, now: datetime, seq: int | None = None
) -> Order:
    """The whole order is off, before any of it was confirmed; the uses that it would have
    settled are open again."""
    there = locked_order(order, by, seq)
    cancelled = record(
        there, OrderKind.CANCEL, to=OrderState.CANCELLED, by=by, now=now, reason=reason
    )
    Replacement.objects.filter(line__order=there).delete()
    return cancelled
