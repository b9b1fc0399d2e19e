"""The implant record as a workbook: a row for each implant, a row for each box wasted."""

from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.writing import write_workbook
from scheduling.theatre.record import CaseRecord, RecordedBox

COLUMNS = (
    Column("Case", Kind.CODE),
    Column("Date", Kind.DATE),
    Column("Side"),
    Column("Role"),
    Column("Name"),
    Column("Description"),
    Column("REF", Kind.CODE),
    Column("LOT", Kind.CODE),
    Column("Serial", Kind.CODE),
    Column("Use by", Kind.DATE),
    Column("GTIN", Kind.GTIN),
    Column("UDI", Kind.CODE),
    Column("Maker"),
    Column("Maker’s address"),
    Column("Maker’s website"),
    Column("Implant card", Kind.YES_NO),
    Column("Recorded", Kind.MOMENT),
    Column("By"),
    Column("Second person"),
    Column("Reason"),
    Column("Opened after a STOP"),
    Column("Received here", Kind.YES_NO),
    Column("Box", Kind.CODE),
)
RECORD = WorkbookSpec(
    "implant record",
    (
        SheetSpec("Implanted", COLUMNS),
        SheetSpec("Wasted", COLUMNS),
        SheetSpec("Opened, not said", (Column("Case", Kind.CODE), Column("Box"))),
    ),
)


def record_workbook(record: CaseRecord) -> bytes:
    """An .xlsx; moments are local and say no zone."""
    return write_workbook(
        RECORD,
        {
            "Implanted": [_row(record, box) for box in record.implanted],
            "Wasted": [_row(record, box) for box in record.wasted],
            "Opened, not said": [{"Case": record.ref, "Box": box} for box in record.unsaid],
        },
    )


def _row(record: CaseRecord, box: RecordedBox) -> Mapping[str, object]:
    values = (
        record.ref,
        record.day,
        box.side,
        box.role,
        box.name,
        box.words,
        box.ref,
        box.lot,
        box.serial,
        box.use_by,
        box.gtin,
        box.udi,
        box.maker,
        box.maker_address,
        box.maker_website,
        box.is_on_a_card,
        box.at.replace(tzinfo=None),
        box.by,
        box.second,
        box.reason,
        box.override,
        box.received,
        box.code,
    )
    return dict(zip((column.name for column in COLUMNS), values, strict=True))
