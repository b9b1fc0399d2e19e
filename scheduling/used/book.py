"""The uses as a workbook: a row for each box, and the counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.writing import write_workbook
from scheduling.used.tally import Count, Use, by_month, count, most_wasted_first

BOXES = (
    Column("Date", Kind.DATE),
    Column("Case", Kind.CODE),
    Column("Surgeon"),
    Column("Outcome"),
    Column("Reason"),
    Column("Note"),
    Column("Role"),
    Column("Description"),
    Column("REF", Kind.CODE),
    Column("LOT", Kind.CODE),
    Column("Serial", Kind.CODE),
    Column("Owner"),
    Column("Box", Kind.CODE),
    Column("Received here", Kind.YES_NO),
    Column("What followed"),
)
COUNTS = (
    Column("By"),
    Column("Of"),
    Column("Implanted", Kind.WHOLE),
    Column("Wasted", Kind.WHOLE),
)
SPEC = WorkbookSpec("used and wasted", (SheetSpec("Boxes", BOXES), SheetSpec("Counts", COUNTS)))


def used_workbook(uses: Sequence[Use]) -> bytes:
    rows: list[dict[str, object]] = []
    rows += _counts("month", by_month(uses))
    rows += _counts("surgeon", most_wasted_first(count(uses, lambda use: use.surgeon)))
    rows += _counts("case", most_wasted_first(count(uses, lambda use: use.case)))
    wasted = [use for use in uses if use.wasted]
    rows += _counts("reason", most_wasted_first(count(wasted, lambda use: use.why)))
    return write_workbook(SPEC, {"Boxes": [_row(use) for use in uses], "Counts": rows})


def _counts(by: str, counts: Iterable[Count]) -> list[dict[str, object]]:
    return [
        {
            "By": by,
            "Of": f"{one.of:%Y-%m}" if by == "month" else one.of or "not known",
            "Implanted": one.implanted,
            "Wasted": one.wasted,
        }
        for one in counts
    ]


def _row(use: Use) -> dict[str, object]:
    values = (
        *(use.day, use.case, use.surgeon, "wasted" if use.wasted else "implanted", use.why),
        *(use.note, use.role, use.words, use.ref, use.lot, use.serial, use.owner, use.code),
        *(use.received, use.settled),
    )
    return dict(zip((column.name for column in BOXES), values, strict=True))
