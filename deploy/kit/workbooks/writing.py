"""Rows out as a workbook, every text made harmless, in the formats that reading takes back."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from deploy.kit.workbooks.columns import Column, Kind, WorkbookSpec
from deploy.kit.workbooks.limits import LIMITS
from deploy.kit.workbooks.neutral import neutral
from deploy.kit.workbooks.numbers import DIGITS_KEPT, TOO_LARGE

TEXT_FORMAT = "@"
NUMBER_FORMATS = {
    Kind.WHOLE: "0",
    Kind.DECIMAL: "General",
    Kind.DATE: "yyyy-mm-dd",
    Kind.TIME: "hh:mm:ss",
    Kind.MOMENT: "yyyy-mm-dd hh:mm:ss",
}
"""Of the kinds that are not text."""
FORMATS_OF_TYPES = (
    (datetime, NUMBER_FORMATS[Kind.MOMENT]),
    (date, NUMBER_FORMATS[Kind.DATE]),
    (time, NUMBER_FORMATS[Kind.TIME]),
)
NARROWEST, WIDEST = 10, 40
BOLD = Font(bold=True)
WRAPPED = Alignment(wrap_text=True, vertical="top")


def number_format(column: Column) -> str:
    return NUMBER_FORMATS.get(column.kind, TEXT_FORMAT)


def write_workbook(spec: WorkbookSpec, rows: Mapping[str, Iterable[Mapping[str, object]]]) -> bytes:
    """An .xlsx of the sheets of `spec`; `rows`: sheet name → rows of column name → value.

    Values as `read_workbook` gives them; what is absent or None stays empty.  ValueError for a
    moment with a zone and for columns that the sheet does not have.
    """
    with new_book() as book:
        for sheet in spec.sheets:
            out = book.create_sheet(sheet.name)
            lines = list(rows.get(sheet.name, ()))
            state_size(out, 1 + len(lines), len(sheet.columns))
            begin_sheet(out, sheet.columns)
            for row in lines:
                if strangers := set(row) - set(sheet.names):
                    raise ValueError(f"{sheet.name} has no columns {sorted(strangers)}")
                out.append([cell_of(out, row.get(name)) for name in sheet.names])
        return saved(book)


@contextmanager
def new_book() -> Iterator[Workbook]:
    """A workbook whose rows go to temporary files as they come; saving, even to nowhere, is what
    removes those."""
    book = Workbook(write_only=True)
    try:
        yield book
    except BaseException:
        saved(book)
        raise


def state_size(out: Worksheet, rows: int, columns: int) -> None:
    """Said before the first row, as programs with a screen do: openpyxl looks through a whole
    sheet for a size that is not stated, when it opens it again."""
    size = f"A1:{get_column_letter(columns)}{rows}"
    out.calculate_dimension = lambda: size  # type: ignore[method-assign]


def begin_sheet(out: Worksheet, columns: Sequence[Column], *also: str) -> None:
    """Headers, widths, and columns formatted ahead, so that typed zeros stay.  `also`: headers
    of more columns, to the right."""
    out.freeze_panes = "A2"
    for number, column in enumerate(columns, start=1):
        dimension = out.column_dimensions[get_column_letter(number)]
        dimension.width = min(max(len(column.name) + 4, NARROWEST), WIDEST)
        dimension.number_format = number_format(column)
    out.append([header_cell(out, name) for name in (*(column.name for column in columns), *also)])


def header_cell(out: Worksheet, name: str) -> Cell:
    cell = cell_of(out, name)
    cell.font = BOLD
    return cell


def cell_of(out: Worksheet, value: object) -> Cell:
    """A cell that shows `value` and can't act."""
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, datetime | time) and value.tzinfo is not None:
        raise ValueError(f"local time without a zone, not {value!r}")
    if isinstance(value, int | Decimal | float) and not fits_a_number(value):
        value = f"{value:f}" if isinstance(value, Decimal) else str(value)
    cell = WriteOnlyCell(out, value=None if isinstance(value, str) else value)  # type: ignore[arg-type]
    if isinstance(value, str) and value:
        if len(value) > LIMITS.text_length:
            raise ValueError(f"a cell can't hold {len(value)} characters")
        cell.value = neutral(value)
        cell.data_type = "s"
        cell.number_format = TEXT_FORMAT
    for kind, shown in FORMATS_OF_TYPES:
        if isinstance(value, kind):
            cell.number_format = shown
            break
    return cell


def fits_a_number(value: int | float | Decimal) -> bool:
    """Whether a spreadsheet keeps every digit; others go out as text, and come back exact."""
    digits = Decimal(str(value)).normalize().as_tuple()
    return len(digits.digits) <= DIGITS_KEPT and abs(value) < TOO_LARGE


def saved(book: Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
