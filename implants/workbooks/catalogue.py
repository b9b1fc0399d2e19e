"""The catalogue of implants as a workbook: one row a REF."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import cast

from django.db.models import QuerySet

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.attributes import (
    ATTRIBUTE_COLUMNS,
    COLUMN_OF,
    attributes_said,
    attributes_shown,
)
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet, Value
from implants.models import Implant, Supplier
from implants.models.implant import PRICE_DECIMALS, PRICE_DIGITS

SHEET = "Implants"
COLUMNS = (
    Column("REF", Kind.CODE, key=True, most=64, note="The maker's catalogue number."),
    Column("Role", required=True, most=64, note="stem, head, shell, liner, …", example="stem"),
    Column("Name", most=200),
    Column("Maker", most=120),
    Column("GTIN", Kind.GTIN, note="As in the code on the box.", example="02000000000015"),
    Column(
        "Supplier",
        Kind.CODE,
        most=24,
        note="Who sends it: a code of those entered under Suppliers; empty where none is known.",
    ),
    Column(
        "Lead days",
        Kind.WHOLE,
        note="Working days from order to delivery; empty where it cannot be ordered.",
        example="2",
    ),
    Column(
        "Replaced on use",
        Kind.YES_NO,
        note="yes: the supplier replaces every use without an order.",
    ),
    Column(
        "Price",
        Kind.DECIMAL,
        note="Agreed for one box, in the house's currency; empty where none is known.",
        example="1240.50",
    ),
    *ATTRIBUTE_COLUMNS,
)
LONGEST_LEAD = 10_000
"""Working days; as in a scenario file."""
PLAIN = {
    "Role": "role",
    "Name": "name",
    "Maker": "maker",
    "GTIN": "gtin",
    "Lead days": "lead_days",
    "Replaced on use": "replaced_on_use",
    "Price": "price",
}
"""Column → field."""
EMPTY = {"lead_days": None, "replaced_on_use": False, "price": None}
"""What a field holds where the cell is empty; the others hold an empty text."""


class Catalogue:
    spec = WorkbookSpec("catalogue", (SheetSpec(SHEET, COLUMNS, once=("REF",)),))
    title = "Catalogue of implants"
    about = "One row a REF: role, GTIN, supplier, price, size, offset and the other attributes."
    permission = "implants.change_implant"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Two queries."""
        there = {one.ref: one for one in _implants(site)}
        suppliers = {one.code: one for one in Supplier.objects.filter(site=site)}
        rows = sheets[SHEET].rows
        gtins = Counter(row.values["GTIN"] for row in rows if "GTIN" in row.values)
        owner = {one.gtin: one.ref for one in there.values() if one.gtin}
        moved = {str(row.values["REF"]) for row in rows if "GTIN" in row.stood}
        return Comparison(
            tuple(
                _judged(row, there.get(str(row.values["REF"])), gtins, owner, moved, suppliers)
                for row in rows
            )
        )

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        new = [_filled(Implant(site=by.site), row) for row in comparison.of(SHEET, Outcome.NEW)]
        changed = [_filled(row.act[0], row) for row in comparison.of(SHEET, Outcome.CHANGED)]
        # A GTIN may go from one REF to another within the file.
        Implant.objects.filter(pk__in=[one.pk for one in changed]).update(gtin="")
        Implant.objects.bulk_update(
            changed, [*PLAIN.values(), "supplier", "attributes"], batch_size=500
        )
        Implant.objects.bulk_create(new, batch_size=500)

    def rows(self, site: Site) -> Rows:
        return {SHEET: (_shown(one) for one in _implants(site).order_by("ref"))}


def _implants(site: Site) -> QuerySet[Implant]:
    return Implant.objects.filter(site=site).select_related("supplier")


def _judged(
    row: Row,
    there: Implant | None,
    gtins: Mapping[Value, int],
    owner: Mapping[str, str],
    moved: set[str],
    suppliers: Mapping[str, Supplier],
) -> RowResult:
    said = said_in(row)
    reasons = []
    code = said.get("Supplier")
    if code is not None and code not in suppliers:
        known = f"; there are {', '.join(sorted(suppliers))}" if suppliers else ""
        reasons.append(f"Supplier: {code} is not known{known}. Enter it under Suppliers first.")
    if gtin := row.values.get("GTIN"):
        if gtins.get(gtin, 0) > 1:
            reasons.append(f"GTIN: {gtin} stands in {gtins[gtin]} rows. Each REF has its own.")
        other = owner.get(str(gtin))
        if other not in (None, row.values["REF"]) and other not in moved:
            reasons.append(f"GTIN: {gtin} is that of {other}. Compare it with the label.")
    if there is not None and "Role" in said and said["Role"] != there.role:
        reasons.append(
            f"Role: {there.ref} is a {there.role}; what plans and boxes refer to keeps its role. "
            "Enter another REF."
        )
    if cast(int, said.get("Lead days") or 0) > LONGEST_LEAD:
        reasons.append(f"Lead days: 0 to {LONGEST_LEAD}.")
    if (price := said.get("Price")) is not None and (fault := price_fault(Decimal(str(price)))):
        reasons.append(f"Price: {price} {fault}")
    shown = None if there is None else _shown(there)
    act = (there, said, suppliers.get(str(code)))
    what = f"{row.values['REF']} {row.values.get('Name', '')}".strip()
    return compared(SHEET, row, what, said, shown, reasons=tuple(reasons), act=act)


def price_fault(price: Decimal) -> str:
    """What is wrong with it, and how it is mended; empty where nothing is."""
    if price < 0:
        return "is less than nothing. Enter the agreed price, or leave the cell empty."
    if price >= 10 ** (PRICE_DIGITS - PRICE_DECIMALS):
        return "is no price of one box. Compare it with the agreement."
    if price != round(price, PRICE_DECIMALS):
        return f"has more than {PRICE_DECIMALS} decimals. Enter it as on the invoice."
    return ""


def _filled(implant: Implant, row: RowResult) -> Implant:
    said: Said = row.act[1]
    implant.ref = str(said["REF"])
    for column, field in PLAIN.items():
        if column in said:
            value = said[column]
            setattr(implant, field, EMPTY.get(field, "") if value is None else value)
    if "Supplier" in said:
        implant.supplier = row.act[2]
    implant.attributes = attributes_said(said, implant.attributes)
    return implant


def _shown(implant: Implant) -> Said:
    return {
        "REF": implant.ref,
        **{column: getattr(implant, field) for column, field in PLAIN.items()},
        "Supplier": implant.supplier.code if implant.supplier else None,
        **{column.name: None for column in COLUMN_OF.values()},
        **attributes_shown(implant.exact_attributes()),
    }
