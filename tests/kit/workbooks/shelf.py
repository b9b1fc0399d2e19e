"""The workbook that these tests send: one sheet with a column of each kind that matters."""

from __future__ import annotations

from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.limits import LIMITS, Limits
from deploy.kit.workbooks.reading import read_workbook
from deploy.kit.workbooks.values import Reading, Row

COLUMNS = (
    Column("REF", Kind.CODE, key=True, note="The maker's catalogue number.", example="AN-012"),
    Column("LOT", Kind.CODE, key=True),
    Column("GTIN", Kind.GTIN),
    Column("Use by", Kind.DATE, required=True, example="2027-03-31"),
    Column("Size", Kind.WHOLE),
    Column("Length", Kind.DECIMAL, formulas=True),
    Column("Loan", Kind.YES_NO),
    Column("Side", Kind.CHOICE, choices=("left", "right", "neutral")),
    Column("Arrives", Kind.MOMENT),
    Column("Cut-off", Kind.TIME),
    Column("Note", most=40),
)
SHELF = WorkbookSpec("shelf", (SheetSpec("Shelf", COLUMNS, once=("REF", "LOT")),))
HEADERS = tuple(column.name for column in COLUMNS)
GTIN = "02000000000015"


def read(data: bytes, limits: Limits = LIMITS) -> Reading:
    return read_workbook(data, SHELF, limits)


def messages(data: bytes, limits: Limits = LIMITS) -> list[str]:
    return [str(fault) for fault in read(data, limits).faults]


def rows_of(reading: Reading) -> tuple[Row, ...]:
    return reading.sheets["Shelf"].rows
