"""`read_workbook(data, spec) -> Reading`: an uploaded workbook as values, or every fault in it.

The file is first looked through (`inspection.py`), then read row by row.  It never raises for
what a file holds.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager

import openpyxl
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook.workbook import Workbook

from deploy.kit.workbooks.archive import ZIP_ERRORS
from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.columns import OWN_SHEETS, SheetSpec, WorkbookSpec, same
from deploy.kit.workbooks.faults import Fault, Notice, Place, Refused, quoted
from deploy.kit.workbooks.inspection import Facts, inspect
from deploy.kit.workbooks.limits import LIMITS, Limits
from deploy.kit.workbooks.sheet_reading import SheetReading
from deploy.kit.workbooks.upload import sha256_of
from deploy.kit.workbooks.values import Reading, Restored, Sheet
from deploy.kit.workbooks.words import Code

if openpyxl.LXML or not openpyxl.DEFUSEDXML:
    raise ImportError("openpyxl must read through defusedxml, without lxml: see DEVELOPERS.md")

READER_ERRORS = (
    *(*ZIP_ERRORS, SyntaxError, KeyError, IndexError, TypeError, AttributeError),
    *(ArithmeticError, RecursionError),
)
"""What openpyxl raises for parts that are XML, but not a workbook's; it has no error of its own."""
VISIBLE = "visible"
Progress = Callable[[int, int], None]
"""Is told, every so often, how many rows of how many have been read."""
TOLD_EVERY = 500


def read_workbook(
    data: bytes, spec: WorkbookSpec, limits: Limits = LIMITS, *, progress: Progress | None = None
) -> Reading:
    """Read the sheets of `spec` from `data` (from `upload.take`).  All faults at once."""
    digest = sha256_of(data)
    try:
        facts = inspect(data, limits)
        with closing(load(data)) as book:
            return WorkbookReading(book, facts, limits, progress).read(spec, digest)
    except Refused as refused:
        return Reading(digest, {}, (refused.fault,))


@contextmanager
def reader_errors_refused() -> Iterator[None]:
    """Round the reader's own steps alone, so that no error of ours passes for a damaged file."""
    try:
        yield
    except READER_ERRORS as error:
        raise Refused(Code.DAMAGED, detail="its parts do not fit together") from error


def load(data: bytes) -> Workbook:
    """The workbook, with the values that formulas last gave in place of the formulas."""
    with reader_errors_refused():
        return openpyxl.load_workbook(
            io.BytesIO(data), read_only=True, data_only=True, keep_links=False
        )


class WorkbookReading:
    """The sheets of one opened workbook, and what there is to say about it."""

    def __init__(
        self, book: Workbook, facts: Facts, limits: Limits, progress: Progress | None
    ) -> None:
        self.book, self.facts, self.limits = book, facts, limits
        self.progress, self.rows_read = progress, 0
        self.sheets: dict[str, Sheet] = {}
        self.faults: list[Fault] = []
        self.notices: list[Notice] = []
        self.restored: list[Restored] = []

    def read(self, spec: WorkbookSpec, digest: str) -> Reading:
        by_name = self.sheets_by_name()
        for sheet in spec.sheets:
            if (title := by_name.pop(same(sheet.name), None)) is None:
                found = ", ".join(map(quoted, self.book.sheetnames[:10])) or "none"
                place = Place(sheet.name)
                self.faults.append(Fault(Code.NO_SHEET, place, {"found": found}))
            else:
                self.read_sheet(sheet, title)
        for title in by_name.values():
            if title not in OWN_SHEETS:
                state = "hidden" if self.is_hidden(title) else "another sheet"
                self.notices.append(Notice(Code.SHEET_NOT_READ, Place(title), {"state": state}))
        if self.book.epoch == CALENDAR_MAC_1904:
            self.notices.append(Notice(Code.FROM_1904))
        return Reading(
            digest,
            self.sheets,
            tuple(self.faults),
            tuple(self.notices),
            tuple(self.restored),
        )

    def sheets_by_name(self) -> dict[str, str]:
        """Titles by the name that counts.  Two alike: which one was meant?"""
        titles: dict[str, str] = {}
        for title in self.book.sheetnames:
            if same(title) in titles:
                self.faults.append(Fault(Code.SHEET_TWICE, Place(title)))
            titles[same(title)] = title
        return titles

    def is_hidden(self, title: str) -> bool:
        return bool(self.book[title].sheet_state != VISIBLE)

    def read_sheet(self, spec: SheetSpec, title: str) -> None:
        sheet = self.book[title]
        # The part that the reader itself will open, so that the facts are of no other.
        facts = self.facts.sheets.get(getattr(sheet, "_worksheet_path", ""))
        if facts is None:
            raise Refused(Code.DAMAGED, detail=f"sheet {quoted(title)} is no table of cells")
        if self.is_hidden(title):
            self.notices.append(Notice(Code.SHEET_HIDDEN, Place(spec.name)))
        reading = SheetReading(spec, facts, self.limits, most_faults=self.faults_left)
        sheet.reset_dimensions()
        rows = sheet.iter_rows(max_row=facts.last_row or 1, max_col=facts.last_column or 1)
        reading.read(self.counted(cells_of(rows)))
        self.sheets[spec.name] = Sheet(spec.name, tuple(reading.rows))
        self.faults += reading.faults
        self.notices += reading.notices
        self.restored += reading.restored

    def counted(self, rows: Iterator[list[Cell]]) -> Iterator[list[Cell]]:
        total = sum(sheet.last_row or 0 for sheet in self.facts.sheets.values())
        for row in rows:
            self.rows_read += 1
            if self.progress is not None and self.rows_read % TOLD_EVERY == 0:
                self.progress(self.rows_read, total)
            yield row

    @property
    def faults_left(self) -> int:
        return max(self.limits.faults - len(self.faults), 1)


def cells_of(rows: Iterator[Sequence[object]]) -> Iterator[list[Cell]]:
    """The reader's cells as ours.  Absent ones have no number format."""
    while True:
        with reader_errors_refused():
            row = next(rows, None)
            if row is None:
                return
            cells = [
                Cell(
                    getattr(cell, "value", None),
                    getattr(cell, "number_format", None) or "General",
                    getattr(cell, "data_type", "n") == "e",
                )
                for cell in row
            ]
        yield cells
