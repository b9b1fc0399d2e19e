"""The uses as a workbook: a row for each box, and the counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.writing import write_workbook
from implants.cost import Boxes
from scheduling.used.tally import Count, Use, by_month, count, most_wasted_first

BOXES = (
    Column("Date", Kind.DATE),
    Column("Case", Kind.CODE),
    Column("Surgeon"),
    Column("Outcome"),
    Column("Reason"),
    Column("Note"),
    Column("Line"),
    Column("Description"),
    Column("REF", Kind.CODE),
    Column("LOT", Kind.CODE),
    Column("Serial", Kind.CODE),
    Column("Owner"),
    Column("Box", Kind.CODE),
    Column("Received here", Kind.YES_NO),
    Column("What followed"),
    Column("Price", Kind.DECIMAL),
    Column("Currency"),
)
COUNTS = (
    Column("By"),
    Column("Of"),
    *(
        column
        for came_of in ("Implanted", "Wasted")
        for column in (
            Column(came_of, Kind.WHOLE),
            Column(f"{came_of}: cost of those with a price", Kind.DECIMAL),
            Column(f"{came_of}: without a price", Kind.WHOLE),
        )
    ),
    Column("Currency"),
)
SPEC = WorkbookSpec("used and wasted", (SheetSpec("Boxes", BOXES), SheetSpec("Counts", COUNTS)))


def used_workbook(uses: Sequence[Use], currency: str) -> bytes:
    """`currency`: of the house; empty where it has named none."""
    wasted = [use for use in uses if use.wasted]
    counted = {
        "month": by_month(uses),
        "surgeon": most_wasted_first(count(uses, lambda use: use.surgeon)),
        "line": most_wasted_first(count(uses, lambda use: use.line)),
        "case": most_wasted_first(count(uses, lambda use: use.case)),
        "reason": most_wasted_first(count(wasted, lambda use: use.why)),
    }
    rows = [row for by, counts in counted.items() for row in _counts(by, counts, currency)]
    return write_workbook(SPEC, {"Boxes": [_row(use, currency) for use in uses], "Counts": rows})


def _counts(by: str, counts: Iterable[Count], currency: str) -> Iterator[dict[str, object]]:
    for one in counts:
        of = f"{one.of:%Y-%m}" if by == "month" else one.of or "not known"
        both = (one.implanted, one.wasted)
        figures = [
            figure for boxes in both for figure in (boxes.number, _cost(boxes), boxes.unpriced)
        ]
        yield dict(
            zip((column.name for column in COUNTS), (by, of, *figures, currency), strict=True)
        )


def _cost(boxes: Boxes) -> Decimal | None:
    """No figure where no box has a price: a 0 would say that they cost nothing."""
    return boxes.cost if boxes.number > boxes.unpriced else None


def _row(use: Use, currency: str) -> dict[str, object]:
    values = (
        *(use.day, use.case, use.surgeon, "wasted" if use.wasted else "implanted", use.why),
        *(use.note, use.line, use.words, use.ref, use.lot, use.serial, use.owner, use.code),
        *(use.received, use.settled, use.price, "" if use.price is None else currency),
    )
    return dict(zip((column.name for column in BOXES), values, strict=True))
