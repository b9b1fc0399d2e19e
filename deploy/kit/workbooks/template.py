"""An empty workbook to fill in: headers, drop-downs, a note at each column, a sheet of help."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.utils import get_column_letter, quote_sheetname
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from deploy.kit.workbooks.columns import HELP_SHEET, LISTS_SHEET, Column, Kind, WorkbookSpec
from deploy.kit.workbooks.kinds import YES_NO
from deploy.kit.workbooks.limits import LIMITS
from deploy.kit.workbooks.sheet_scan import HEADER_ROW
from deploy.kit.workbooks.writing import WRAPPED, begin_sheet, cell_of, header_cell, new_book, saved

PROMPT_MOST, PROMPT_TITLE_MOST = 255, 32
"""Characters that a spreadsheet takes in a note."""
HELP = ("Sheet", "Column", "Holds", "Must be filled", "How", "Example")
HELP_WIDTHS = (16, 24, 18, 16, 60, 24)
HOW = {
    Kind.CODE: "Exactly as on the label, zeros included. Letters, digits and plain signs.",
    Kind.TEXT: "One line of text.",
    Kind.WHOLE: "Digits only.",
    Kind.DECIMAL: "Digits, with a point or as a number of the spreadsheet.",
    Kind.DATE: "A date in full, for instance 2027-03-31.",
    Kind.TIME: "Hours and minutes, for instance 08:30.",
    Kind.MOMENT: "Date and time, for instance 2027-03-31 08:30.",
    Kind.YES_NO: "yes or no.",
    Kind.CHOICE: "One of the list.",
    Kind.GTIN: "All digits, 14 as in the code on the label (8, 12 or 13 are filled up).",
}


def template(spec: WorkbookSpec) -> bytes:
    """The .xlsx to fill in.  What it says holds for `read_workbook` with the same `spec`."""
    lists: list[tuple[Column, tuple[str, ...]]] = []
    with new_book() as book:
        for sheet in spec.sheets:
            out = book.create_sheet(sheet.name)
            begin_sheet(out, sheet.columns)
            for number, column in enumerate(sheet.columns, start=1):
                if choices := choices_of(column):
                    lists.append((column, choices))
                add_note(out, number, column, len(lists) if choices else None)
        write_help(book, spec)
        if lists:
            write_lists(book, lists)
        return saved(book)


def choices_of(column: Column) -> tuple[str, ...]:
    return tuple(YES_NO) if column.kind is Kind.YES_NO else column.choices


def how(column: Column) -> str:
    parts = [HOW[column.kind], column.note]
    if column.formulas:
        parts.append("May be a formula.")
    return " ".join(part for part in parts if part)


def add_note(out: Worksheet, number: int, column: Column, list_number: int | None) -> None:
    """A note that shows when a cell is entered, by mouse or keyboard; and the drop-down."""
    note = DataValidation(
        type="list" if list_number else None,
        formula1=list_range(list_number, len(choices_of(column))) if list_number else None,
        allow_blank=True,
        showInputMessage=True,
        showErrorMessage=bool(list_number),
        promptTitle=column.name[:PROMPT_TITLE_MOST],
        prompt=how(column)[:PROMPT_MOST],
        errorTitle=column.name[:PROMPT_TITLE_MOST],
        error="Choose one of the list.",
    )
    letter = get_column_letter(number)
    note.add(f"{letter}{HEADER_ROW + 1}:{letter}{HEADER_ROW + LIMITS.rows}")
    out.data_validations.append(note)


def list_range(number: int, length: int) -> str:
    letter = get_column_letter(number)
    return f"{quote_sheetname(LISTS_SHEET)}!${letter}$2:${letter}${length + 1}"


def write_help(book: Workbook, spec: WorkbookSpec) -> None:
    out = book.create_sheet(HELP_SHEET)
    for number, width in enumerate(HELP_WIDTHS, start=1):
        out.column_dimensions[get_column_letter(number)].width = width
    out.append([header_cell(out, name) for name in HELP])
    for sheet in spec.sheets:
        for column in sheet.columns:
            filled = "yes" if column.must_be_filled else "no"
            row = (sheet.name, column.name, column.kind, filled, how(column), column.example)
            cells = [cell_of(out, str(value)) for value in row]
            for cell in cells:
                cell.alignment = WRAPPED
            out.append(cells)


def write_lists(book: Workbook, lists: list[tuple[Column, tuple[str, ...]]]) -> None:
    """The drop-downs' choices, a column each: a list inside a rule holds 255 characters only."""
    out = book.create_sheet(LISTS_SHEET)
    out.append([header_cell(out, column.name) for column, _ in lists])
    for at in range(max(len(choices) for _, choices in lists)):
        out.append(
            [cell_of(out, choices[at] if at < len(choices) else None) for _, choices in lists]
        )
