"""Put an order together, before the supplier knows of it.  Each is one transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.errors import OrderRefused
from implants.models import Implant, Order, OrderLine, Owner, Replacement, Supplier, Terms
from implants.operations.orders.recording import line_of, locked_order, record
from implants.order_states import OrderKind, OrderState
from implants.uses import uses_for_line

PREFIX = "O-"


@transaction.atomic
def begin_order(*, supplier: Supplier, by: Person, now: datetime) -> Order:
    """An empty draft with the site's next number.  OrderRefused (supplier_elsewhere)."""
    if supplier.site_id != by.site_id:
        raise OrderRefused("supplier_elsewhere", supplier=supplier.code)
    # Two drafts begun at once wait for each other here, and get two numbers.
    Site.objects.select_for_update().get(pk=by.site_id)
    number = Order.objects.filter(site=by.site).count() + 1
    order = Order.objects.create(site=by.site, supplier=supplier, code=f"{PREFIX}{number:04}")
    return record(order, OrderKind.BEGIN, to=OrderState.DRAFT, by=by, now=now)


@transaction.atomic
def add_line(
    *,
    order: Order,
    implant: Implant,
    quantity: int,
    by: Person,
    now: datetime,
    owner: Owner = Owner.OWNED,
    terms: Terms = Terms.BUY,
    why: str = "",
    seq: int | None = None,
) -> OrderLine:
    """Ask for so many more of an item; it settles the oldest uses that wait for just this.

    A line of the same item, owner and terms grows.  OrderRefused: order_sent, implant_elsewhere,
    not_from_supplier, superseded, quantity_wrong.
    """
    there = _draft(order, by, seq)
    if implant.site_id != there.site_id:
        raise OrderRefused("implant_elsewhere", item=implant.ref)
    if implant.supplier_id not in (None, there.supplier_id):
        raise OrderRefused("not_from_supplier", item=implant.ref, supplier=there.supplier.name)
    if implant.superseded_by is not None:
        raise OrderRefused("superseded", item=implant.ref, by=implant.superseded_by.ref)
    if quantity < 1:
        raise OrderRefused("quantity_wrong", item=implant.ref)
    line, made = OrderLine.objects.get_or_create(
        order=there,
        implant=implant,
        owner=owner,
        terms=terms,
        defaults={"quantity": quantity, "why": why},
    )
    if not made:
        line.quantity += quantity
        line.why = "\n".join(filter(None, [line.why, why]))
        line.save(update_fields=["quantity", "why"])
    Replacement.objects.bulk_create(
        Replacement(unit=unit, line=line, by=by.user, at=now)
        for unit in uses_for_line(line, quantity)
    )
    record(there, OrderKind.CHANGE, by=by, now=now, reason=f"{quantity} × {implant.ref} added")
    return line


@transaction.atomic
def change_quantity(
    *, order: Order, line: OrderLine, quantity: int, by: Person, now: datetime, seq: int | None
) -> None:
    """Another number on a draft's line; 0 takes the line away, and what it settled is open again.

    OrderRefused: order_sent, line_elsewhere.
    """
    there = _draft(order, by, seq)
    line = line_of(there, line)
    ref = line.implant.ref
    if quantity < 1:
        line.delete()
        record(there, OrderKind.CHANGE, by=by, now=now, reason=f"{ref} taken away")
        return
    surplus = list(line.replaces.order_by("-unit__pk")[: max(0, line.replaces.count() - quantity)])
    Replacement.objects.filter(pk__in=[each.pk for each in surplus]).delete()
    line.quantity = quantity
    line.save(update_fields=["quantity"])
    record(there, OrderKind.CHANGE, by=by, now=now, reason=f"{ref}: {quantity}")


def _draft(order: Order, by: Person, seq: int | None) -> Order:
    there = locked_order(order, by, seq)
    if there.state != OrderState.DRAFT:
        raise OrderRefused("order_sent", order=there.code, state=there.state)
    return there
