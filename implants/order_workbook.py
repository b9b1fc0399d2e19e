"""An order as a workbook: one sheet, a row a line."""

from __future__ import annotations

from collections.abc import Sequence

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from implants.models import Order, OrderLine

ORDER_WORKBOOK = WorkbookSpec(
    "order",
    (
        SheetSpec(
            "Order",
            (
                Column("Order number", Kind.CODE, key=True),
                Column("Account", Kind.CODE),
                Column("REF", Kind.CODE, key=True),
                Column("GTIN", Kind.GTIN),
                Column("What"),
                Column("Quantity", Kind.WHOLE, required=True),
                Column("Terms"),
                Column("Owner"),
                Column("Boxes used"),
            ),
        ),
    ),
)


def rows_of(order: Order, lines: Sequence[OrderLine]) -> dict[str, list[dict[str, object]]]:
    """No query, where the lines come with implant, uses and their boxes."""
    return {
        "Order": [
            {
                "Order number": order.code,
                "Account": order.supplier.account or None,
                "REF": line.implant.ref,
                "GTIN": line.implant.gtin or None,
                "What": line.implant.in_words(),
                "Quantity": line.quantity - line.not_coming,
                "Terms": line.terms,
                "Owner": line.owner,
                "Boxes used": "; ".join(
                    f"LOT {each.unit.lot} {each.unit.serial}".strip()
                    for each in line.replaces.all()
                )
                or None,
            }
            for line in lines
        ]
    }
