"""Orders from chosen lines: one draft a supplier."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Implant, Order, Owner, Supplier, Terms
from implants.operations.orders.drafting import add_line, begin_order
from implants.order_states import OrderState


@dataclass(frozen=True, slots=True)
class Asked:
    """One chosen line."""

    implant: Implant
    owner: Owner
    terms: Terms
    quantity: int
    why: str = ""


@transaction.atomic
def make_orders(*, asked: Iterable[Asked], by: Person, now: datetime) -> list[Order]:
    """The lines on the drafts of their suppliers; a supplier without a draft gets one.

    All or none.  OrderRefused: nothing_chosen, no_supplier, and as `add_line`.
    """
    by_supplier: dict[Supplier, list[Asked]] = defaultdict(list)
    for each in asked:
        if each.implant.site_id != by.site_id:
            raise OrderRefused("implant_elsewhere", item=each.implant.ref)
        if each.implant.supplier is None:
            raise OrderRefused("no_supplier", item=each.implant.ref)
        by_supplier[each.implant.supplier].append(each)
    if not by_supplier:
        raise OrderRefused("nothing_chosen")
    orders = []
    for supplier in sorted(by_supplier, key=lambda supplier: supplier.code):
        drafts = Order.objects.filter(supplier=supplier, state=OrderState.DRAFT)
        order = drafts.first() or begin_order(supplier=supplier, by=by, now=now)
        for each in by_supplier[supplier]:
            add_line(
                order=order,
                implant=each.implant,
                quantity=each.quantity,
                owner=each.owner,
                terms=each.terms,
                why=each.why,
                by=by,
                now=now,
            )
        orders.append(order)
    return orders
