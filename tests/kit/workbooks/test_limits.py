"""The caps, each reached: with small ones the same code is walked as with the real ones."""

from __future__ import annotations

import io
import tracemalloc
import zipfile
from dataclasses import replace

from deploy.kit.workbooks.inspection import inspect
from deploy.kit.workbooks.limits import LIMITS
from deploy.kit.workbooks.upload import take
from tests.kit.workbooks.packages import (
    SHEET,
    line,
    number,
    row,
    sheet,
    text,
    with_rows,
    workbook,
)
from tests.kit.workbooks.shelf import HEADERS, messages, read, rows_of


class Endless:
    """An upload that never ends, and counts what was asked of it."""

    asked = 0

    def read(self, size: int, /) -> bytes:
        self.asked += size
        return bytes(size)


def test_an_upload_is_taken_up_to_the_cap_and_one_byte() -> None:
    upload = Endless()
    assert len(take(upload, replace(LIMITS, uploaded=50))) == upload.asked == 51


def test_what_is_unpacked_is_counted_while_streaming_too() -> None:
    unpacked = len(b"".join(parts_of(workbook())))
    assert messages(workbook(), replace(LIMITS, unpacked=unpacked)) == []
    streamed_only = replace(LIMITS, unpacked=unpacked - 1)
    assert [m.split(".")[0] for m in messages(workbook(), streamed_only)] == [
        "The workbook unpacks to more than 0 MB"
    ]


def parts_of(data: bytes) -> list[bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return [archive.read(name) for name in archive.namelist()]


def test_exactly_as_many_rows_as_allowed_are_read() -> None:
    limits = replace(LIMITS, rows=2)
    two = [line(2), line(3, B=text("L2"))]
    assert len(rows_of(read(with_rows(*two), limits))) == 2
    assert messages(with_rows(*two, row(4, "<c/>")), limits) == []
    assert messages(with_rows(*two, line(4)), limits) == [
        "Sheet “Shelf”: holds values below row 3; at most 2 rows are read at once. "
        "Split the sheet into several workbooks, or clear what stands below."
    ]


def test_cells_are_counted_empty_ones_too() -> None:
    limits = replace(LIMITS, cells=16)
    assert messages(with_rows(line(), row(3, "<c/><c/>")), limits) == []
    assert messages(with_rows(line(), row(3, "<c/><c/><c/>")), limits) == [
        "The workbook has more than 16 cells, empty formatted ones included. "
        "Delete the empty rows and columns round the table, or split it."
    ]


def test_characters_are_counted_in_sheets_and_texts_together() -> None:
    characters = len("".join(HEADERS)) + len("AN-012L004246477") + len("AN-013")
    assert messages(workbook(), replace(LIMITS, characters=characters)) == []
    assert messages(workbook(), replace(LIMITS, characters=characters - 1)) == [
        f"The workbook holds more than {characters - 1} characters of text. "
        "Split it into several workbooks."
    ]


def test_faults_stop_the_reading_when_nobody_would_read_them_all() -> None:
    many = with_rows(*(line(n, A=number(n)) for n in range(2, 30)))
    said = messages(many, replace(LIMITS, faults=5))
    assert len(said) == 7
    assert said[-1] == (
        "Sheet “Shelf”, row 7: more than 5 faults; the rows below were not read. Mend these first."
    )


def test_nothing_that_is_unpacked_is_kept() -> None:
    """50 MB of a sheet pass through in less memory than a twentieth of it."""
    long = sheet(line()).replace("</worksheet>", "<!-- --> " * 5_600_000 + "</worksheet>")
    data = workbook({SHEET: long})
    assert [m.split(" unpacks")[0] for m in messages(data)] == ["Part “xl/worksheets/sheet1.xml”"]
    tracemalloc.start()
    try:
        inspect(data, replace(LIMITS, ratio=10_000))
        assert tracemalloc.get_traced_memory()[1] < len(long) // 20
    finally:
        tracemalloc.stop()
