"""Cells that do not hold what their column wants.  Nothing is guessed, and all is said at once."""

from __future__ import annotations

import pytest

from tests.kit.workbooks.packages import (
    DAY,
    formula,
    line,
    number,
    text,
    typed,
    with_cell,
    with_rows,
)
from tests.kit.workbooks.shelf import messages, read

AS_TEXT = "Format the column as text and type the value again from the label or list."
IN_FULL = "Type the date in full, as year-month-day, for instance 2027-03-31."
BY_HAND = "Type the value again by hand."

CELLS: dict[str, tuple[str, str, str]] = {
    # name: the column's letter, the cell, what is said
    "a REF left out": ("A", "", "“REF” (A): is empty, and must not be. Fill it in."),
    "a REF of spaces": (
        "A",
        text(" \u00a0\u200b "),
        "“REF” (A): is empty, and must not be. Fill it in.",
    ),
    "a REF by formula": (
        "A",
        formula('"AN-"&"012"', "1"),
        "“REF” (A): holds a formula. Replace it by its value (copy, paste special, values).",
    ),
    "a size by formula": (
        "E",
        formula("2+3", 5),
        "“Size” (E): holds a formula. Replace it by its value (copy, paste special, values).",
    ),
    "a length by formula not worked out": (
        "F",
        formula("2+3"),
        "“Length” (F): holds a formula that was never worked out. Open the workbook in a "
        "spreadsheet program and save it, or type the value.",
    ),
    "a REF that is a number": (
        "A",
        number(12),
        f"“REF” (A): holds the number 12, so leading zeros or digits may be lost. {AS_TEXT}",
    ),
    "a LOT that is a number": (
        "B",
        number("1234567"),
        f"“LOT” (B): holds the number 1234567, so leading zeros or digits may be lost. {AS_TEXT}",
    ),
    "a LOT in powers of ten": (
        "B",
        number("1.2E+30"),
        f"“LOT” (B): holds the number 1.2e+30, so leading zeros or digits may be lost. {AS_TEXT}",
    ),
    "a LOT made a date": (
        "B",
        number(DAY, style="month"),
        "“LOT” (B): holds a date or time (2027-03-31 00:00), perhaps made by the "
        f"spreadsheet from something else. {AS_TEXT}",
    ),
    "a LOT made TRUE": (
        "B",
        typed("b", 1),
        f"“LOT” (B): holds TRUE or FALSE, which does not fit here. {AS_TEXT}",
    ),
    "a LOT not available": (
        "B",
        typed("e", "#N/A"),
        "“LOT” (B): holds the error #N/A. Correct it or clear it.",
    ),
    "a LOT that says not available": (
        "B",
        text("#N/A"),
        "“LOT” (B): holds the error #N/A. Correct it or clear it.",
    ),
    "a LOT in Cyrillic": (
        "B",
        text("L\u041042"),
        "“LOT” (B): holds CYRILLIC CAPITAL LETTER A in “LА42”; only plain letters, digits "
        "and signs are taken here. Type the value again on a plain keyboard layout.",
    ),
    "a LOT with a no-break space": (
        "B",
        text("L\u00a042"),
        "“LOT” (B): holds NO-BREAK SPACE in “L\\u00a042”; only plain letters, digits and "
        "signs are taken here. Type the value again on a plain keyboard layout.",
    ),
    "a LOT with a soft hyphen": (
        "B",
        text("L\u00ad42"),
        f"“LOT” (B): holds an invisible character (U+00AD) in “L\\u00ad42”. {BY_HAND}",
    ),
    "a LOT turned right to left": (
        "B",
        text("L\u202e42"),
        f"“LOT” (B): holds an invisible character (U+202E) in “L\\u202e42”. {BY_HAND}",
    ),
    "a LOT on two lines": (
        "B",
        text("L42\nL43"),
        "“LOT” (B): holds a line break or tab in “L42\\u000aL43”. Write it on one line.",
    ),
    "a LOT with an escape": (
        "B",
        text("L42_x000D_"),
        f"“LOT” (B): holds an escaped character (such as _x000D_) in “L42_x000D_”. {BY_HAND}",
    ),
    "a LOT too long": (
        "B",
        text("L" * 201),
        "“LOT” (B): has 201 characters; at most 200 are taken. Shorten it.",
    ),
    "a GTIN with a wrong check digit": (
        "C",
        text("02000000000016"),
        "“GTIN” (C): holds “02000000000016”, whose last digit (the check digit) is wrong. "
        "Compare it with the label, digit by digit.",
    ),
    "a GTIN of 11 digits": (
        "C",
        text("02000000015"),
        f"“GTIN” (C): holds “02000000015”, which is not a GTIN (8, 12, 13 or 14 digits). {AS_TEXT}",
    ),
    "a GTIN in powers of ten": (
        "C",
        text("2E+12"),
        f"“GTIN” (C): holds “2E+12”, which is not a GTIN (8, 12, 13 or 14 digits). {AS_TEXT}",
    ),
    "a GTIN of Arabic digits": (
        "C",
        text("\u0660" * 14),
        "“GTIN” (C): holds “٠٠٠٠٠٠٠٠٠٠٠٠٠٠”, which is not a GTIN (8, 12, 13 or 14 digits). "
        f"{AS_TEXT}",
    ),
    "a GTIN of zeros": (
        "C",
        text("0" * 14),
        "“GTIN” (C): holds “00000000000000”, which is not a GTIN (8, 12, 13 or 14 digits). "
        f"{AS_TEXT}",
    ),
    "a number with a wrong check digit": (
        "C",
        number(2000000000016),
        "“GTIN” (C): holds the number 2000000000016, which is no GTIN even with leading "
        f"zeros put back. {AS_TEXT}",
    ),
    "a number too short for a GTIN": (
        "C",
        number(17),
        "“GTIN” (C): holds the number 17, which is no GTIN even with leading zeros put "
        f"back. {AS_TEXT}",
    ),
    "a number with a fraction": (
        "C",
        number("2000000000015.5"),
        "“GTIN” (C): holds the number 2000000000015.5, which is no GTIN even with leading "
        f"zeros put back. {AS_TEXT}",
    ),
    "a date left out": ("D", "", "“Use by” (D): is empty, and must not be. Fill it in."),
    "a date day first": (
        "D",
        text("31/03/2027"),
        "“Use by” (D): holds “31/03/2027”, which is neither a date of the spreadsheet nor "
        f"written year-month-day. {IN_FULL}",
    ),
    "a date without its day": (
        "D",
        text("2027-03"),
        "“Use by” (D): holds “2027-03”, which is neither a date of the spreadsheet nor "
        f"written year-month-day. {IN_FULL}",
    ),
    "a date that does not exist": (
        "D",
        text("2027-02-29"),
        f"“Use by” (D): holds “2027-02-29”, a date that does not exist. {IN_FULL}",
    ),
    "a date that is a number": (
        "D",
        number(DAY),
        f"“Use by” (D): holds the number 46477, not a date. {IN_FULL}",
    ),
    "a date typed as Mar-27": (
        "D",
        number(DAY, style="month"),
        "“Use by” (D): shows no day or no year, so that the spreadsheet filled it in "
        f"(2027-03-31 00:00). {IN_FULL}",
    ),
    "a date typed as 31-Mar": (
        "D",
        number(DAY, style="day"),
        "“Use by” (D): shows no day or no year, so that the spreadsheet filled it in "
        f"(2027-03-31 00:00). {IN_FULL}",
    ),
    "a date with a time": (
        "D",
        number("46477.5", style="moment"),
        f"“Use by” (D): holds a time of day too (2027-03-31 12:00:00). {IN_FULL}",
    ),
    "a date of 1900": (
        "D",
        number(59, style="date"),
        f"“Use by” (D): holds 1900-02-28, a date before March 1900. {IN_FULL}",
    ),
    "a date that never was": (
        "D",
        number(60, style="date"),
        f"“Use by” (D): holds 1900-02-28, a date before March 1900. {IN_FULL}",
    ),
    "a date past all calendars": (
        "D",
        number(9_999_999, style="date"),
        "“Use by” (D): holds the error #VALUE!. Correct it or clear it.",
    ),
    "a date that is a time": (
        "D",
        number("0.5", style="time"),
        f"“Use by” (D): holds a time of day without a date (12:00:00). {IN_FULL}",
    ),
    "a date that is TRUE": (
        "D",
        typed("b", 1),
        "“Use by” (D): holds “TRUE”, which is neither a date of the spreadsheet nor written "
        f"year-month-day. {IN_FULL}",
    ),
    "a size and a half": (
        "E",
        number("5.5"),
        "“Size” (E): holds “5.5”, which is not a whole number. Write a whole number.",
    ),
    "a size below nothing": (
        "E",
        number(-2),
        "“Size” (E): holds “-2”, which is less than nothing. Write digits alone.",
    ),
    "a size of millions": (
        "E",
        number(1_000_001),
        "“Size” (E): holds “1000001”, which is more than 1000000. Write what is meant.",
    ),
    "a size in words": (
        "E",
        text("five"),
        "“Size” (E): holds “five”, which is not a plain number. Write digits alone, with a "
        "point for decimals and no thousands mark.",
    ),
    "a size made a date": (
        "E",
        number(DAY, style="date"),
        "“Size” (E): holds a date or time (2027-03-31 00:00) where a number is wanted. "
        "Format the column as a number and type the value again.",
    ),
    "a size of 20 digits": (
        "E",
        number("12345678901234567890"),
        "“Size” (E): holds 12345678901234567890, which has more digits than a spreadsheet "
        f"keeps. {AS_TEXT}",
    ),
    "a size past all numbers": (
        "E",
        number("1E+999"),
        "“Size” (E): holds “inf”, which is not a plain number. Write digits alone, with a "
        "point for decimals and no thousands mark.",
    ),
    "a length with a comma": (
        "F",
        text("22,5"),
        "“Length” (F): holds “22,5”, which is not a plain number. Write digits alone, with a "
        "point for decimals and no thousands mark.",
    ),
    "a length with its unit": (
        "F",
        text("225 mm"),
        "“Length” (F): holds “225 mm”, which is not a plain number. Write digits alone, with "
        "a point for decimals and no thousands mark.",
    ),
    "a loan of 1": ("G", number(1), "“Loan” (G): holds “1”. Write yes or no."),
    "a loan of maybe": ("G", text("maybe"), "“Loan” (G): holds “maybe”. Write yes or no."),
    "a side unheard of": (
        "H",
        text("L"),
        "“Side” (H): holds “L”, which is none of: left, right, neutral. Choose one of these.",
    ),
    "a moment without its time": (
        "I",
        number(DAY, style="date"),
        "“Arrives” (I): holds “2027-03-31 00:00”, which is not a date with a time. Type "
        "both, for instance 2027-03-31 08:30.",
    ),
    "a moment with a zone": (
        "I",
        text("2027-03-31T08:30Z"),
        "“Arrives” (I): holds “2027-03-31T08:30Z”, which is not a date with a time. Type "
        "both, for instance 2027-03-31 08:30.",
    ),
    "a moment after midnight": (
        "I",
        text("2027-03-31 24:30"),
        "“Arrives” (I): holds “2027-03-31 24:30”, which is not a time of day. Type hours and "
        "minutes, for instance 08:30.",
    ),
    "a time of 25 hours": (
        "J",
        text("25:00"),
        "“Cut-off” (J): holds “25:00”, which is not a time of day. Type hours and minutes, "
        "for instance 08:30.",
    ),
    "a time that is a number": (
        "J",
        number("0.5"),
        "“Cut-off” (J): holds “0.5”, which is not a time of day. Type hours and minutes, for "
        "instance 08:30.",
    ),
    "a note too long": (
        "K",
        text("x" * 41),
        "“Note” (K): has 41 characters; at most 40 are taken. Shorten it.",
    ),
    "a note that is a number": (
        "K",
        number(7),
        f"“Note” (K): holds the number 7, so leading zeros or digits may be lost. {AS_TEXT}",
    ),
}


@pytest.mark.parametrize("name", CELLS)
def test_refused_with_its_own_message(name: str) -> None:
    letter, cell, expected = CELLS[name]
    assert messages(with_cell(letter, cell)) == [f"Sheet “Shelf”, row 2, column {expected}"]


def test_all_is_said_at_once() -> None:
    wrong = with_rows(
        line(2, A=number(12), D=text("soon"), E=text("x")), line(3, B=""), line(4, G=text("?"))
    )
    said = [str(fault) for fault in read(wrong).faults]
    assert [message.split(": ")[0] for message in said] == [
        "Sheet “Shelf”, row 2, column “REF” (A)",
        "Sheet “Shelf”, row 2, column “Use by” (D)",
        "Sheet “Shelf”, row 2, column “Size” (E)",
        "Sheet “Shelf”, row 3, column “LOT” (B)",
        "Sheet “Shelf”, row 4, column “Loan” (G)",
    ]
