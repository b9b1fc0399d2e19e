"""Send boxes back to their supplier, and settle the credits for them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Credit, Supplier, Unit
from implants.operations.shelf import return_to_supplier


@transaction.atomic
def return_boxes(
    *,
    units: Iterable[tuple[Unit, int]],
    reason: str,
    by: Person,
    now: datetime,
    for_credit: bool = True,
) -> list[Unit]:
    """All the boxes go back, or none.  Each comes with the number of the movement last seen.

    `for_credit`: the supplier owes a credit for each of the house's own; what is theirs anyway is
    owed none.  OrderRefused: reason_missing, supplier_unknown; MoveRefused as on the shelf.
    """
    if not reason:
        raise OrderRefused("reason_missing")
    gone = []
    for unit, seq in sorted(units, key=lambda pair: pair[0].pk):
        gone.append(return_to_supplier(unit=unit, by=by, now=now, reason=reason, seq=seq))
        if for_credit and unit.owner == "owned":
            Credit.objects.create(
                unit=unit, supplier=_supplier_of(unit), reason=reason, by=by.user, at=now
            )
    return gone


@transaction.atomic
def settle_credit(*, credit: Credit, number: str, by: Person, now: datetime) -> Credit:
    """The supplier's credit note has come.  OrderRefused: credit_elsewhere, number_missing,
    credit_settled."""
    there = Credit.objects.select_for_update(of=("self",)).select_related("unit").get(pk=credit.pk)
    if there.unit.site_id != by.site_id:
        raise OrderRefused("credit_elsewhere")
    if not number:
        raise OrderRefused("number_missing", unit=there.unit.code)
    if there.settled_at is not None:
        raise OrderRefused("credit_settled", unit=there.unit.code, number=there.number)
    there.number, there.settled_by, there.settled_at = number[:40], by.user, now
    there.save(update_fields=["number", "settled_by", "settled_at"])
    return there


def _supplier_of(unit: Unit) -> Supplier:
    """Who sent it: by its order, else by the catalogue."""
    if unit.order_line is not None:
        return unit.order_line.order.supplier
    if unit.implant.supplier is None:
        raise OrderRefused("supplier_unknown", unit=unit.code, item=unit.implant.ref)
    return unit.implant.supplier
