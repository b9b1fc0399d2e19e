"""Workbooks out: what is written reads back the same, and nothing in them acts."""

from __future__ import annotations

import io
import re
import unicodedata
from datetime import UTC, date, datetime

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deploy.kit.workbooks.cells import ERRORS, trim
from deploy.kit.workbooks.columns import LISTS_SHEET, REASON
from deploy.kit.workbooks.neutral import STARTERS, neutral, plain
from deploy.kit.workbooks.numbers import MOST_WHOLE
from deploy.kit.workbooks.refused import refused_rows
from deploy.kit.workbooks.template import template
from deploy.kit.workbooks.writing import write_workbook
from tests.kit.workbooks.packages import HEADER, line, number, text, with_rows
from tests.kit.workbooks.shelf import GTIN, SHELF, messages, read, rows_of

ESCAPED = re.compile(r"x005F_|_x[0-9A-Fa-f]{4}_")
"""Escapes, which reading refuses in texts, as it does the names of errors."""


def taken(text: str) -> bool:
    return bool(trim(text)) and trim(text) not in ERRORS and not ESCAPED.search(text)


PRINTABLE = st.characters(min_codepoint=33, max_codepoint=126)
CODES = st.text(st.sampled_from("AB01-+=@'./ ") | PRINTABLE, min_size=1, max_size=20).filter(taken)
NOTES = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")) | st.just(" "))
DAYS = st.dates(date(1900, 3, 1), date(2199, 12, 31))
SECONDS = st.times().map(lambda moment: moment.replace(microsecond=0))
ROWS = st.fixed_dictionaries(
    {"REF": CODES, "LOT": CODES, "Use by": DAYS},
    optional={
        "GTIN": st.just(GTIN),
        "Size": st.integers(0, MOST_WHOLE),
        "Length": st.decimals(-(10**9), 10**9, places=4),
        "Loan": st.booleans(),
        "Side": st.sampled_from(("left", "right", "neutral")),
        "Arrives": st.builds(datetime.combine, DAYS, SECONDS),
        "Cut-off": SECONDS,
        "Note": NOTES.filter(lambda note: taken(note) and len(note) <= 40),
    },
)


def kept(text: str) -> str:
    """What reading makes of a text on purpose."""
    return unicodedata.normalize("NFC", text.strip())


@settings(max_examples=60)
@given(
    st.lists(
        ROWS, min_size=1, max_size=4, unique_by=lambda row: (kept(row["REF"]), kept(row["LOT"]))
    )
)
def test_what_is_written_reads_back_the_same(rows: list[dict[str, object]]) -> None:
    texts = ("REF", "LOT", "Note")
    expected = [
        {name: kept(str(value)) if name in texts else value for name, value in row.items()}
        for row in rows
    ]
    expected = [{n: v for n, v in row.items() if v != ""} for row in expected]
    reading = read(write_workbook(SHELF, {"Shelf": rows}))
    assert reading.faults == ()
    assert [dict(row.values) for row in rows_of(reading)] == expected


@given(st.text(st.sampled_from("=+-@'\t\r\n ＝a\xa0"), max_size=8))
def test_a_neutral_text_can_not_act_and_comes_back(said: str) -> None:
    safe = neutral(said)
    assert not safe.lstrip().startswith(STARTERS)
    assert plain(safe) == said


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", " =", "'="])
def test_exports_neutralise_what_could_act(start: str) -> None:
    out = write_workbook(SHELF, {"Shelf": [{"Note": f"{start}1+1"}]})
    cell = openpyxl.load_workbook(io.BytesIO(out))["Shelf"]["K2"]
    assert (cell.value, cell.data_type) == (f"'{start}1+1".replace("\r", "\n"), "s")


@pytest.mark.parametrize("said", ["L-42", "12/14", "a=b", "#N/A?", "'twas", ""])
def test_harmless_texts_stay_as_they_are(said: str) -> None:
    assert neutral(said) == said


def test_only_what_fits_is_written() -> None:
    with pytest.raises(ValueError, match="no columns \\['Lot'\\]"):
        write_workbook(SHELF, {"Shelf": [{"Lot": "L1"}]})
    with pytest.raises(ValueError, match="without a zone"):
        write_workbook(SHELF, {"Shelf": [{"Arrives": datetime(2027, 3, 31, tzinfo=UTC)}]})
    with pytest.raises(ValueError, match="can't hold"):
        write_workbook(SHELF, {"Shelf": [{"Note": "x" * 40_000}]})


# -- the template ---------------------------------------------------------------------------------


def test_the_template_reads_as_a_sheet_without_rows() -> None:
    reading = read(template(SHELF))
    assert [str(fault) for fault in reading.faults] == [
        "Sheet “Shelf”: has no rows below the headers. Fill in at least one row."
    ]
    assert reading.notices == ()


def test_a_template_filled_in_is_read() -> None:
    book = openpyxl.load_workbook(io.BytesIO(template(SHELF)))
    book["Shelf"].append(["AN-012", "0042", GTIN, date(2027, 3, 31), 12, None, "yes", "left"])
    out = io.BytesIO()
    book.save(out)
    reading = read(out.getvalue())
    assert reading.faults == ()
    assert rows_of(reading)[0].values["LOT"] == "0042"


def test_the_template_has_drop_downs_notes_and_text_columns() -> None:
    book = openpyxl.load_workbook(io.BytesIO(template(SHELF)))
    sheet = book["Shelf"]
    rules = {str(rule.sqref): rule for rule in sheet.data_validations.dataValidation}
    assert rules["H2:H20001"].type == "list"
    assert rules["H2:H20001"].formula1 == f"'{LISTS_SHEET}'!$B$2:$B$4"
    assert [cell.value for cell in book[LISTS_SHEET]["B"]] == ["Side", "left", "right", "neutral"]
    assert rules["A2:A20001"].prompt.endswith("The maker's catalogue number.")
    assert sheet.column_dimensions["B"].number_format == "@"
    assert sheet.column_dimensions["D"].number_format == "yyyy-mm-dd"
    assert sheet.freeze_panes == "A2"


# -- refused rows ---------------------------------------------------------------------------------


def test_refused_rows_come_back_as_they_stood_with_their_reasons() -> None:
    sent = with_rows(
        line(2), line(3, B=number(42), K=text("=1")), line(4, B=text("L3")), header=HEADER
    )
    reading = read(sent)
    reasons = {("Shelf", 4): ["REF AN-012 is not in the catalogue."]}
    reasons |= {
        (sheet.name, row.number): [fault.beside_row for fault in row.faults]
        for sheet, row in reading.refused_rows()
    }
    back = refused_rows(SHELF, reading, reasons)
    rows = list(openpyxl.load_workbook(io.BytesIO(back))["Shelf"].values)
    assert rows[0][-1] == REASON
    assert [row[1] for row in rows[1:]] == [42, "L3"]
    assert rows[1][10] == "'=1"
    assert [row[-1] for row in rows[1:]] == [
        "LOT: holds the number 42, so leading zeros or digits may be lost. "
        "Format the column as text and type the value again from the label or list.",
        "REF AN-012 is not in the catalogue.",
    ]


def test_refused_rows_mended_are_read_with_the_reasons_still_there() -> None:
    back = refused_rows(SHELF, read(with_rows(line(2, B=number(42)))))
    assert len(messages(back)) == 1
    book = openpyxl.load_workbook(io.BytesIO(back))
    book["Shelf"]["B2"] = "0042"
    out = io.BytesIO()
    book.save(out)
    assert rows_of(read(out.getvalue()))[0].values["LOT"] == "0042"
    assert messages(out.getvalue()) == []


def test_a_sheet_says_its_size_before_its_first_row() -> None:
    data = write_workbook(SHELF, {SHELF.sheets[0].name: [{"REF": "A"}, {"REF": "B"}]})
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    sheet = book[SHELF.sheets[0].name]
    assert (sheet.max_row, sheet.max_column) == (3, len(SHELF.sheets[0].columns))
    book.close()
