"""What the supplier answers: dates, new dates, boxes that will not come, another REF.

A box with a date is a box on its way: it is entered as awaited, counts for the cases that it
would serve in time, and every new date is a movement of its own.  Each is one transaction.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Implant, Order, OrderLine, Unit
from implants.operations.orders.recording import line_of, locked_order, record
from implants.operations.shelf import enter_unit, expect_unit, strike_unit
from implants.order_queries import LineProgress, progress_of
from implants.order_states import OrderKind, OrderState
from implants.states import UnitState


@dataclass(frozen=True, slots=True)
class Promise:
    """So many boxes of a line at one moment; several a line where some are on back-order."""

    line: OrderLine
    quantity: int
    expected_at: datetime


@transaction.atomic
def confirm_order(
    *,
    order: Order,
    promises: Iterable[Promise],
    by: Person,
    now: datetime,
    supplier_ref: str = "",
    seq: int | None = None,
) -> Order:
    """The supplier has said when which boxes come; what it does not name stays without a date.

    Without promises it only takes down their number.  OrderRefused: order_not_sent, date_past,
    more_than_open; nothing is promised then.
    """
    there = _with_supplier(order, by, seq)
    said = []
    for promise in promises:
        progress = progress_of(line_of(there, promise.line))
        ref = progress.line.implant.ref
        if promise.expected_at < now:
            raise OrderRefused("date_past", item=ref, date=there.site.local(promise.expected_at))
        if not 1 <= promise.quantity <= progress.undated:
            raise OrderRefused("more_than_open", item=ref, open=progress.undated)
        _enter_boxes(there, progress.line, promise, by, now)
        said.append(f"{promise.quantity} × {ref} due {_when(there, promise.expected_at)}")
    if not said and not supplier_ref:
        raise OrderRefused("nothing_confirmed", order=there.code)
    return record(
        there,
        OrderKind.CONFIRM,
        to=OrderState.CONFIRMED,
        by=by,
        now=now,
        reason="; ".join(said) or f"their number is {supplier_ref}",
        supplier_ref=supplier_ref or None,
    )


@transaction.atomic
def give_new_date(
    *,
    order: Order,
    line: OrderLine,
    expected_at: datetime,
    by: Person,
    now: datetime,
    seq: int | None = None,
) -> Order:
    """All the line's boxes that are still on their way come at another moment.

    OrderRefused: order_not_sent, date_past, nothing_awaited.
    """
    there = _with_supplier(order, by, seq)
    progress = progress_of(line_of(there, line))
    ref = progress.line.implant.ref
    if expected_at < now:
        raise OrderRefused("date_past", item=ref, date=there.site.local(expected_at))
    boxes = _awaited(progress)
    if not boxes:
        raise OrderRefused("nothing_awaited", item=ref)
    for box in boxes:
        expect_unit(unit=box, expected_at=expected_at, by=by, now=now)
    reason = f"{len(boxes)} × {ref} now due {_when(there, expected_at)}"
    return record(there, OrderKind.NEW_DATE, by=by, now=now, reason=reason)


@transaction.atomic
def say_not_coming(
    *,
    order: Order,
    line: OrderLine,
    quantity: int,
    reason: str,
    by: Person,
    now: datetime,
    seq: int | None = None,
) -> Order:
    """The supplier will not send so many after all: those without a date first, then those
    furthest away, which are struck.  OrderRefused: order_not_sent, more_than_open."""
    there = _with_supplier(order, by, seq)
    progress = progress_of(line_of(there, line))
    _take_off(progress, quantity, reason, by, now)
    said = f"{quantity} × {progress.line.implant.ref} not coming: {reason}"
    return record(there, OrderKind.NOT_COMING, by=by, now=now, reason=said if reason else "")


@transaction.atomic
def substitute(
    *,
    order: Order,
    line: OrderLine,
    implant: Implant,
    quantity: int,
    reason: str,
    by: Person,
    now: datetime,
    seq: int | None = None,
) -> OrderLine:
    """The supplier sends another REF for so many of a line; a line of its own stands in for it.

    Whether the other REF serves a case is for coverage to find and for the surgeon to say.
    OrderRefused: order_not_sent, more_than_open, implant_elsewhere, same_item.
    """
    there = _with_supplier(order, by, seq)
    progress = progress_of(line_of(there, line))
    old = progress.line
    if implant.site_id != there.site_id:
        raise OrderRefused("implant_elsewhere", item=implant.ref)
    if implant.pk == old.implant_id:
        raise OrderRefused("same_item", item=implant.ref)
    _take_off(progress, quantity, reason, by, now)
    new, made = OrderLine.objects.get_or_create(
        order=there,
        implant=implant,
        owner=old.owner,
        terms=old.terms,
        defaults={"quantity": quantity, "instead_of": old, "why": old.why},
    )
    if not made:
        new.quantity += quantity
        new.save(update_fields=["quantity"])
    said = f"{quantity} × {implant.ref} instead of {old.implant.ref}: {reason}"
    record(there, OrderKind.SUBSTITUTE, by=by, now=now, reason=said if reason else "")
    return new


def _with_supplier(order: Order, by: Person, seq: int | None) -> Order:
    there = locked_order(order, by, seq)
    if there.state not in (OrderState.SENT, OrderState.CONFIRMED):
        raise OrderRefused("order_not_sent", order=there.code, state=there.state)
    return there


def _enter_boxes(
    order: Order, line: OrderLine, promise: Promise, by: Person, now: datetime
) -> None:
    before = Unit.objects.filter(order_line__order=order).count()
    last = Unit.objects.filter(implant=line.implant).order_by("-pk").first()
    does_not_expire = last is not None and last.does_not_expire
    # The real date is on the box.  Until it is here, the earliest that the terms allow counts.
    arrives = order.site.local(promise.expected_at).date()
    use_by = order.supplier.use_by_of_a_box_due(arrives)
    for number in range(before + 1, before + 1 + promise.quantity):
        box = Unit(
            site=order.site,
            code=f"{order.code}/{number}",
            implant=line.implant,
            expiry=None if does_not_expire else use_by,
            does_not_expire=does_not_expire,
            owner=line.owner,
            order_line=line,
        )
        enter_unit(unit=box, expected_at=promise.expected_at, by=by, now=now)


def _take_off(
    progress: LineProgress, quantity: int, reason: str, by: Person, now: datetime
) -> None:
    boxes = _awaited(progress)
    line = progress.line
    if not 1 <= quantity <= progress.undated + len(boxes):
        raise OrderRefused(
            "more_than_open", item=line.implant.ref, open=progress.undated + len(boxes)
        )
    for box in boxes[: max(0, quantity - progress.undated)]:
        strike_unit(unit=box, reason=reason, by=by, now=now)
    line.not_coming += quantity
    line.save(update_fields=["not_coming"])


def _awaited(progress: LineProgress) -> list[Unit]:
    """Boxes on their way and on no hold, the furthest away first."""
    boxes = [box for box in progress.boxes if box.state == UnitState.AWAITED]
    return sorted(boxes, key=lambda box: (box.expected_at, box.pk), reverse=True)


def _when(order: Order, moment: datetime) -> str:
    return f"{order.site.local(moment):%a %d %b %H:%M}"
