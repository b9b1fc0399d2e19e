"""What a sound workbook gives: values of the right kind, row numbers, and what is worth knowing."""

from __future__ import annotations

import io
from datetime import date, datetime, time
from decimal import Decimal

import openpyxl
import pytest

from deploy.kit.workbooks.columns import SheetSpec, WorkbookSpec
from deploy.kit.workbooks.reading import read_workbook
from deploy.kit.workbooks.values import Value
from tests.kit.workbooks.packages import (
    BOOK,
    HEADER,
    SHEET,
    book,
    formula,
    line,
    number,
    row,
    sheet,
    text,
    typed,
    with_cell,
    with_rows,
    workbook,
)
from tests.kit.workbooks.shelf import COLUMNS, GTIN, read, rows_of

DAY = date(2027, 3, 31)

CELLS: dict[str, tuple[str, str, Value | None]] = {
    "zeros in front stay": ("B", text("0042"), "0042"),
    "spaces at the edges go": ("B", text(" \u00a0L42\u200b\ufeff \n"), "L42"),
    "spaces inside stay": ("B", text("L 42  x"), "L 42  x"),
    "a text of the table": ("B", typed("s", 0), "AN-013"),
    "a text in runs": ("B", '<c t="inlineStr"><is><r><t>L</t></r><r><t>42</t></r></is></c>', "L42"),
    "a LOT like a formula": ("B", text("=L42"), "=L42"),
    "a neutralised LOT": ("B", text("'=L42"), "=L42"),
    "an apostrophe that is its own": ("B", text("'L42"), "'L42"),
    "a GTIN of 14": ("C", text(GTIN), GTIN),
    "a GTIN of 13": ("C", text("2000000000015"), GTIN),
    "a GTIN of 8": ("C", text("02345673"), "00000002345673"),
    "a date of the sheet": ("D", number(46_477, style="date"), DAY),
    "a date in ISO text": ("D", text("2027-03-31"), DAY),
    "a date stored as ISO": ("D", typed("d", "2027-03-31"), DAY),
    "the leap day": ("D", text("2028-02-29"), date(2028, 2, 29)),
    "a whole number": ("E", number(12), 12),
    "a whole number with its point": ("E", number("12.0"), 12),
    "a number written as text": ("E", text("12"), 12),
    "an exact decimal": ("F", number("22.5"), Decimal("22.5")),
    "a decimal as it is shown": ("F", number("0.30000000000000004"), Decimal("0.3")),
    "a negative one as text": ("F", text("-3.50"), Decimal("-3.50")),
    "a formula's value where allowed": ("F", formula("1+2", 3), Decimal(3)),
    "yes": ("G", text("Yes"), True),
    "FALSE": ("G", typed("b", 0), False),
    "a choice in other case": ("H", text(" LEFT"), "left"),
    "a moment": (
        "I",
        number("46477.3541666667", style="moment"),
        datetime.combine(DAY, time(8, 30)),
    ),
    "a moment in ISO text": ("I", text("2027-03-31 08:30"), datetime.combine(DAY, time(8, 30))),
    "a midnight that is shown": (
        "I",
        number(46_477, style="moment"),
        datetime.combine(DAY, time()),
    ),
    "a time": ("J", number("0.3541666667", style="time"), time(8, 30)),
    "a time in text": ("J", text("08:30"), time(8, 30)),
    "a name with its accent apart": ("K", text("Mu\u0308ller"), "M\u00fcller"),
    "an odd space in a note": ("K", text("a\u00a0b"), "a b"),
    "an optional cell left blank": ("K", text("  "), None),
}


@pytest.mark.parametrize("name", CELLS)
def test_a_cell_is_read(name: str) -> None:
    letter, cell, expected = CELLS[name]
    reading = read(with_cell(letter, cell))
    assert reading.faults == ()
    column = COLUMNS["ABCDEFGHIJK".index(letter)].name
    assert rows_of(reading)[0].values.get(column) == expected


def test_row_numbers_are_the_sheets_own_and_blank_rows_left_out() -> None:
    reading = read(with_rows(line(2), row(3, text("  ")), line(7, B=text("L2"))))
    assert [row.number for row in rows_of(reading)] == [2, 7]
    assert reading.ok


def test_headers_in_any_order_and_case() -> None:
    names = [column.name for column in COLUMNS]
    shuffled = row(1, *(text(f" {name.upper()} ") for name in (names[1], names[0], *names[2:])))
    reading = read(with_rows(line(A=text("L42"), B=text("AN-012")), header=shuffled))
    assert reading.faults == ()
    assert rows_of(reading)[0].values["LOT"] == "L42"


def test_a_number_is_taken_for_a_gtin_only_to_be_confirmed() -> None:
    reading = read(with_cell("C", number(2_000_000_000_015)))
    assert rows_of(reading)[0].values["GTIN"] == GTIN
    assert [str(restored) for restored in reading.restored] == [
        "Sheet “Shelf”, row 2, column “GTIN” (C): the number 2000000000015 was read as GTIN "
        f"“{GTIN}”; compare it with the label and confirm."
    ]


def test_days_counted_from_1904_are_read_so_and_said() -> None:
    from_1904 = workbook(
        {
            BOOK: book(before='<workbookPr date1904="1"/>'),
            SHEET: sheet(line(D=number(46_477 - 1_462, style="date"))),
        }
    )
    reading = read(from_1904)
    assert rows_of(reading)[0].values["Use by"] == DAY
    assert [str(notice) for notice in reading.notices] == [
        "The workbook counts days from 1904; its dates were read so."
    ]


def test_a_wrong_dimension_hides_no_rows() -> None:
    """A sheet may claim any extent.  Unless told otherwise, the reader behind us believes it."""
    data = with_rows(line(2), line(3, B=text("L2")), before='<dimension ref="A1:B2"/>')
    believed = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    assert len(list(believed["Shelf"].iter_rows())) == 2
    believed.close()
    assert [row.number for row in rows_of(read(data))] == [2, 3]


def test_a_far_claim_of_a_dimension_costs_nothing() -> None:
    far = with_rows(line(2), before='<dimension ref="A1:XFD1048576"/>')
    assert len(rows_of(read(far))) == 1


def test_hidden_and_merged_cells_are_said() -> None:
    data = with_rows(
        line(2),
        line(3, B=text("L2"), K=text("both")).replace("<row ", '<row hidden="1" '),
        line(4, B=text("L3")).replace("<row ", '<row hidden="1" '),
        before='<cols><col min="4" max="5" hidden="1"/></cols>',
        after='<mergeCells><mergeCell ref="K3:K4"/></mergeCells>',
    )
    reading = read(data)
    assert reading.faults == ()
    assert [row.values.get("Note") for row in rows_of(reading)] == [None, "both", None]
    assert [str(notice) for notice in reading.notices] == [
        "Sheet “Shelf”: cells K3:K4 are merged; the value counts for its first cell alone.",
        "Sheet “Shelf”: rows 3–4 are hidden, and were read.",
        "Sheet “Shelf”: columns D, E are hidden, and were read.",
    ]


def test_other_sheets_are_not_read_and_hidden_ones_are_said() -> None:
    other = '<sheet name="Prices" sheetId="2" r:id="rId1" state="veryHidden"/>'
    reading = read(workbook({BOOK: book(more=other, state="hidden")}))
    assert [str(notice) for notice in reading.notices] == [
        "Sheet “Shelf”: is hidden in the workbook, and was read.",
        "Sheet “Prices”: was not read (hidden); it is no part of this import.",
    ]


def test_columns_of_the_house_may_be_let_be() -> None:
    own = WorkbookSpec("shelf", (SheetSpec("Shelf", COLUMNS, other_columns=True),))
    header = HEADER.replace("</row>", text("Our shelf") + "</row>")
    reading = read_workbook(with_rows(line(L=text("top")), header=header), own)
    assert reading.faults == ()
    assert [str(notice) for notice in reading.notices] == [
        "Sheet “Shelf”, row 1, column “Our shelf” (L): was not read; it is no part of this import."
    ]


def test_a_row_with_faults_keeps_what_stood_there() -> None:
    reading = read(with_cell("B", number(42)))
    (refused,) = rows_of(reading)
    assert refused.stood["LOT"] == 42
    assert "LOT" not in refused.values
    assert not reading.ok


def test_the_same_bytes_have_the_same_hash() -> None:
    assert read(workbook()).sha256 == read(workbook()).sha256
    assert read(workbook()).sha256 != read(with_cell("B", text("L43"))).sha256
