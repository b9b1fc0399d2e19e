"""Sheets that are not laid out as they should be: whole sheets, headers, merged cells."""

from __future__ import annotations

from collections.abc import Callable

import pytest

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
from tests.kit.workbooks.shelf import HEADERS, messages

SAVE = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx)."
COPY = "Copy the values alone into a new copy of the template."
KNOWN = ", ".join(HEADERS)
RENAME = "Correct the header, or remove the column."

SHEETS: dict[str, tuple[Callable[[], bytes], list[str]]] = {
    "no sheet of the name": (
        lambda: workbook({BOOK: book("Sheet1")}),
        [
            "Sheet “Shelf”: there is no sheet named so; the workbook has “Sheet1”. Name the "
            "sheet as the template does."
        ],
    ),
    "two sheets of one name": (
        lambda: workbook({BOOK: book(more='<sheet name="SHELF" sheetId="2" r:id="rId1"/>')}),
        ["Sheet “SHELF”: two sheets have this name. Rename or remove one of them."],
    ),
    "20,001 rows": (
        lambda: with_rows(*(line(n, B=text(f"L{n}")) for n in range(2, 20_003))),
        [
            "Sheet “Shelf”: holds values below row 20,001; at most 20,000 rows are read at "
            "once. Split the sheet into several workbooks, or clear what stands below."
        ],
    ),
    "a value in the last row of all": (
        lambda: with_rows(line(), row(1_048_576, number(1, "A1048576"))),
        [
            "Sheet “Shelf”: holds values below row 20,001; at most 20,000 rows are read at "
            "once. Split the sheet into several workbooks, or clear what stands below."
        ],
    ),
    "a row after the last of all": (
        lambda: with_rows(line(), row(1_048_577, number(1))),
        [
            "Sheet “Shelf”: names a cell A1048577, which no sheet has (16,384 columns, "
            f"1,048,576 rows). {COPY}"
        ],
    ),
    "16,385 columns": (
        lambda: with_rows(line(), row(3, text("x", "XFE3"))),
        [
            "Sheet “Shelf”: names a cell XFE3, which no sheet has (16,384 columns, "
            f"1,048,576 rows). {COPY}"
        ],
    ),
    "a value in the last column of all": (
        lambda: with_rows(line(), row(3, text("x", "XFD3"))),
        [
            "Sheet “Shelf”: holds values right of column GR; at most 200 columns are read. "
            "Clear what stands to the right of the table."
        ],
    ),
    "rows out of order": (
        lambda: with_rows(line(3), line(2)),
        [f"Sheet “Shelf”: cell A2 is out of order or there twice. {SAVE}"],
    ),
    "a row twice": (
        lambda: with_rows(line(2), line(2)),
        [f"Sheet “Shelf”: cell A2 is out of order or there twice. {SAVE}"],
    ),
    "cells out of order": (
        lambda: with_rows(row(2, text("L1", "B2"), text("R1", "A2"))),
        [f"Sheet “Shelf”: cell A2 is out of order or there twice. {SAVE}"],
    ),
    "a cell twice": (
        lambda: with_rows(row(2, text("R1", "A2"), text("R2", "A2"))),
        [f"Sheet “Shelf”: cell A2 is out of order or there twice. {SAVE}"],
    ),
    "a cell of another row": (
        lambda: with_rows(row(2, text("R1", "A3"))),
        [f"Sheet “Shelf”: cell A3 is out of order or there twice. {SAVE}"],
    ),
    "a cell of no name": (
        lambda: with_rows(row(2, text("R1", "A-2"))),
        [f"Sheet “Shelf”: cell A2 is not stored as a cell should be (its name “A-2”). {SAVE}"],
    ),
    "a cell outside the rows": (
        lambda: with_rows(line(), after=text("R1", "A9")),
        [f"Sheet “Shelf”: is not stored as a sheet should be (cells outside the table). {SAVE}"],
    ),
    "rows twice over": (
        lambda: with_rows(line(), after="<sheetData/>"),
        [f"Sheet “Shelf”: is not stored as a sheet should be (a second table of cells). {SAVE}"],
    ),
    "a row in a row": (
        lambda: with_rows(row(2, row(3, text("R1")))),
        [f"Sheet “Shelf”: cell A2 is not stored as a cell should be (what is in it). {SAVE}"],
    ),
    "a number with an underscore": (
        lambda: with_cell("E", number("1_0")),
        [f"Sheet “Shelf”: cell E2 is not stored as a cell should be (value “1_0”). {SAVE}"],
    ),
    "a number that is none": (
        lambda: with_cell("E", number("NaN")),
        [f"Sheet “Shelf”: cell E2 is not stored as a cell should be (value “NaN”). {SAVE}"],
    ),
    "the last text but one": (
        lambda: with_cell("A", typed("s", -1)),
        [f"Sheet “Shelf”: cell A2 is not stored as a cell should be (value “-1”). {SAVE}"],
    ),
    "a text that is not there": (
        lambda: with_cell("A", typed("s", 7)),
        [f"The workbook is damaged (its parts do not fit together). {SAVE}"],
    ),
    "a type of cell unheard of": (
        lambda: with_cell("A", typed("x", 1)),
        [f"Sheet “Shelf”: cell A2 is not stored as a cell should be (type “x”). {SAVE}"],
    ),
    "a cell of two values": (
        lambda: with_cell("E", "<c><v>1</v><v>2</v></c>"),
        [f"Sheet “Shelf”: cell E2 is not stored as a cell should be (what is in it). {SAVE}"],
    ),
    "text beside a value": (
        lambda: with_cell("E", "<c><v>1</v><is><t>2</t></is></c>"),
        [f"Sheet “Shelf”: cell E2 is not stored as a cell should be (what is in it). {SAVE}"],
    ),
    "a date that is half one": (
        lambda: with_cell("D", typed("d", "2027-03-31x")),
        [f"Sheet “Shelf”: cell D2 is not stored as a cell should be (value “2027-03-31x”). {SAVE}"],
    ),
    "a chart in place of cells": (
        lambda: workbook({SHEET: sheet(line()).replace("worksheet", "chartsheet")}),
        [f"The workbook is damaged (sheet “Shelf” is no table of cells). {SAVE}"],
    ),
    "no header": (
        lambda: with_rows(row(2, text("R1")), header=""),
        ["Sheet “Shelf”: has no headers in row 1. Keep the template's first row as it is."],
    ),
    "nothing at all": (
        lambda: with_rows(header=""),
        ["Sheet “Shelf”: has no headers in row 1. Keep the template's first row as it is."],
    ),
    "a header alone": (
        lambda: with_rows(),
        ["Sheet “Shelf”: has no rows below the headers. Fill in at least one row."],
    ),
    "blank rows alone": (
        lambda: with_rows(row(2, text("  "), "<c/>"), row(3, "<c/>")),
        ["Sheet “Shelf”: has no rows below the headers. Fill in at least one row."],
    ),
    "headers missing": (
        lambda: with_rows(row(2, text("R1")), header=row(1, text("REF"))),
        [
            "Sheet “Shelf”, row 1, column “LOT”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “GTIN”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Use by”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Size”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Length”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Loan”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Side”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Arrives”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Cut-off”: the column is missing. Add it as the "
            "template has it.",
            "Sheet “Shelf”, row 1, column “Note”: the column is missing. Add it as the "
            "template has it.",
        ],
    ),
    "a header twice and one unknown": (
        lambda: with_rows(
            line(), header=HEADER.replace("</row>", text("lot") + text("Useby") + "</row>")
        ),
        [
            "Sheet “Shelf”, row 1, column “lot” (L): the same header stands over column B "
            "already. Remove or rename one of the two.",
            "Sheet “Shelf”, row 1, column “Useby” (M): no column of this name is known here "
            f"(known: {KNOWN}). {RENAME}",
        ],
    ),
    "a header that is a number": (
        lambda: with_rows(line(), header=HEADER.replace("</row>", number(5) + "</row>")),
        [
            "Sheet “Shelf”, row 1, column L: the header is not a text. Type the header as "
            "the template has it."
        ],
    ),
    "a header that is a formula": (
        lambda: with_rows(line(), header=HEADER.replace("</row>", formula('"A"', "1") + "</row>")),
        [
            "Sheet “Shelf”, row 1, column L: the header is not a text. Type the header as "
            "the template has it."
        ],
    ),
    "merged headers": (
        lambda: with_rows(line(), after=merged("A1:B1")),
        [
            "Sheet “Shelf”, row 1, column “REF” (A): the header is part of merged cells "
            "A1:B1. Unmerge them.",
            "Sheet “Shelf”, row 1, column “LOT” (B): the header is part of merged cells "
            "A1:B1. Unmerge them.",
        ],
    ),
    "values without a header": (
        lambda: with_rows(line(L=text("x"))),
        [
            "Sheet “Shelf”, row 2, column L: holds values but has no header. Give it its "
            "header, or clear it."
        ],
    ),
    "a merged key": (
        lambda: with_rows(line(2), line(3, A="", B=text("L2")), after=merged("A2:A3")),
        [
            "Sheet “Shelf”, row 2, column “REF” (A): is part of merged cells A2:A3, and this "
            "column names what the row is about. Unmerge the cells and give each row its own "
            "value.",
            "Sheet “Shelf”, row 3, column “REF” (A): is part of merged cells A2:A3, and this "
            "column names what the row is about. Unmerge the cells and give each row its own "
            "value.",
        ],
    ),
    "a merged cell that must be filled": (
        lambda: with_rows(line(2), line(3, B=text("L2"), D=""), after=merged("D2:D3")),
        [
            "Sheet “Shelf”, row 3, column “Use by” (D): is part of merged cells D2:D3, which "
            "are never filled down. Unmerge the cells and give each row its own value."
        ],
    ),
    "merged cells that are none": (
        lambda: with_rows(line(), after=merged("A2:")),
        [f"Sheet “Shelf”: is not stored as a sheet should be (merged cells “A2:”). {SAVE}"],
    ),
    "merged all over": (
        lambda: with_rows(line(), row(20_001, text("R", "A20001")), after=merged("E2:K20001")),
        ["Sheet “Shelf”: has too many merged cells. Unmerge all cells."],
    ),
    "the same row twice": (
        lambda: with_rows(line(2), line(3)),
        [
            "Sheet “Shelf”, row 3, column “REF, LOT”: says again what row 2 says (“AN-012, "
            "L0042”). Remove one of the two rows."
        ],
    ),
}


def merged(*areas: str) -> str:
    return (
        "<mergeCells>" + "".join(f'<mergeCell ref="{area}"/>' for area in areas) + "</mergeCells>"
    )


@pytest.mark.parametrize("name", SHEETS)
def test_refused_with_its_own_messages(name: str) -> None:
    build, expected = SHEETS[name]
    assert messages(build()) == expected
