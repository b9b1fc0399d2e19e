"""What every write about an order does: look at it locked, and add its movement."""

from __future__ import annotations

from datetime import datetime
from textwrap import shorten

from deploy.kit.models import Person
from deploy.kit.movements import locked_item, move_item
from implants.errors import OrderRefused
from implants.ledger import ORDERS
from implants.models import Order, OrderLine
from implants.order_states import OrderKind, OrderState

LONGEST_REASON = 120


def locked_order(order: Order, by: Person, seq: int | None = None) -> Order:
    """The order as it stands, locked.  MoveRefused (seq_stale); OrderRefused (order_elsewhere)."""
    there: Order = locked_item(ORDERS, order, seq)
    if there.site_id != by.site_id:
        raise OrderRefused("order_elsewhere", order=there.code)
    return there


def line_of(order: Order, line: OrderLine) -> OrderLine:
    """The line as it stands; OrderRefused (line_elsewhere) where it is another order's."""
    there = OrderLine.objects.select_related("implant").filter(pk=line.pk, order=order).first()
    if there is None:
        raise OrderRefused("line_elsewhere", order=order.code)
    return there


def record(
    order: Order,
    kind: OrderKind,
    *,
    by: Person,
    now: datetime,
    to: OrderState | None = None,
    reason: str = "",
    supplier_ref: str | None = None,
) -> Order:
    """Add the movement; the order stays in its state, and keeps the supplier's number, where
    nothing else is said."""
    return move_item(
        ORDERS,
        order,
        to=to or order.state,
        kind=kind,
        by=by,
        now=now,
        reason=shorten(reason, LONGEST_REASON, placeholder=" …"),
        supplier_ref=order.supplier_ref if supplier_ref is None else supplier_ref,
    )
