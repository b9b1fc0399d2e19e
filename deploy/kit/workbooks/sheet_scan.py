"""One sheet, streamed: what the reader behind us does not tell, or would get wrong in silence.

It drops or shifts cells that are out of order, reads `1_0` as ten and text -1 as the last one,
fills rows up to a number that a file merely claims, and knows neither hidden nor merged cells.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NoReturn

from openpyxl.utils import column_index_from_string, get_column_letter

from deploy.kit.workbooks.areas import Area, area_of
from deploy.kit.workbooks.faults import Place, Refused, quoted
from deploy.kit.workbooks.limits import Limits
from deploy.kit.workbooks.text_rules import T, TextRules
from deploy.kit.workbooks.words import Code
from deploy.kit.workbooks.xml_part import PartScan, main

LAST_COLUMN, LAST_ROW = 16_384, 1_048_576
HEADER_ROW = 1
SHEET, DATA, ROW, CELL = main("worksheet"), main("sheetData"), main("row"), main("c")
VALUE, FORMULA, INLINE = main("v"), main("f"), main("is")
MERGE, COLUMN = main("mergeCell"), main("col")

CELL_NAME = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})", re.ASCII)
NUMBER = r"-?[0-9]{1,40}(\.[0-9]{0,40})?([eE][+-]?[0-9]{1,3})?"
ISO = r"\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d(\.\d{1,3})?Z?)?|\d\d:\d\d(:\d\d(\.\d{1,3})?)?"
STORED = {
    kind: re.compile(pattern, re.ASCII)
    for kind, pattern in {
        "n": NUMBER,
        "s": r"[0-9]{1,9}",
        "b": r"[01]",
        "e": r"#[A-Z0-9/?!_]{1,30}",
        "d": ISO,
    }.items()
}
"""How a cell's value may be stored, by the cell's type; other types hold free text."""
TEXT_TYPES = ("str", "inlineStr")
TRUE = ("1", "true")


@dataclass(slots=True)
class SheetFacts:
    """`last_row`, `last_column`: of the cells that hold something.  `formulas`: (row, column)."""

    last_row: int = 0
    last_column: int = 0
    cells: int = 0
    formulas: set[tuple[int, int]] = field(default_factory=set)
    merges: list[Area] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)


class SheetScan(PartScan):
    """Fills `facts` from a part, if that is a sheet; refuses what is not stored as it should be."""

    def __init__(self, part: str, name: str, limits: Limits, cells_before: int = 0) -> None:
        super().__init__(part, limits)
        self.place = Place(sheet=name)
        self.facts = SheetFacts()
        self.is_sheet = False
        self.cells_left = limits.cells - cells_before
        self.row = self.column = 0
        self.data_seen = self.in_data = self.in_value = self.in_inline = False
        self.value: list[str] = []
        self.rules = TextRules()

    # -- the parser's events ------------------------------------------------------------------

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if not self.in_data:
            super().start(tag, attributes)
            self.around(tag, attributes)
            return
        self.depth += 1
        if self.depth == 3 and tag == ROW:
            self.begin_row(attributes)
        elif self.depth == 4 and tag == CELL:
            self.begin_cell(attributes)
        elif self.depth == 5 and tag in (VALUE, FORMULA, INLINE):
            self.begin_content(tag)
        elif self.in_inline and self.depth <= self.limits.depth:
            if tag != T:
                self.count()
            self.rules.start(tag, self.depth)
        elif tag == FORMULA or self.in_value or self.depth < 6:
            self.bad("what is in it")

    def end(self, tag: str) -> None:
        if self.in_data:
            if self.depth == 5:
                self.in_value = self.in_inline = False
            elif self.depth == 4:
                self.end_cell()
            elif self.depth == 2:
                self.in_data = False
            if self.in_inline:
                self.rules.end(tag)
        self.depth -= 1

    def text(self, text: str) -> None:
        if self.in_value:
            self.value.append(text)
        elif self.in_inline:
            self.rules.text(text)

    # -- outside the cells --------------------------------------------------------------------

    def around(self, tag: str, attributes: dict[str, str]) -> None:
        if self.depth == 1:
            self.is_sheet = tag == SHEET
        if not self.is_sheet:
            return
        if tag == DATA:
            if self.depth != 2 or self.data_seen:
                self.bad_sheet("a second table of cells")
            self.data_seen = self.in_data = True
        elif tag in (ROW, CELL):
            self.bad_sheet("cells outside the table")
        elif tag == MERGE:
            self.merge(attributes.get("ref", ""))
        elif tag == COLUMN and (
            attributes.get("hidden", "") in TRUE or attributes.get("width") == "0"
        ):
            self.hide(attributes.get("min", ""), attributes.get("max", ""))

    def merge(self, ref: str) -> None:
        area = area_of(ref)
        if area is None:
            self.bad_sheet(f"merged cells {quoted(ref)}")
        if len(self.facts.merges) >= self.limits.merged_areas:
            raise Refused(Code.TOO_MANY_MERGES, self.place)
        self.facts.merges.append(area)

    def hide(self, first: str, last: str) -> None:
        if not (first.isascii() and first.isdigit() and last.isascii() and last.isdigit()):
            self.bad_sheet("a hidden column")
        if len(self.facts.hidden_columns) >= LAST_COLUMN:
            self.bad_sheet("more hidden columns than there are")
        self.facts.hidden_columns.append((int(first), int(last)))

    # -- rows and cells -----------------------------------------------------------------------

    def begin_row(self, attributes: dict[str, str]) -> None:
        number = attributes.get("r", str(self.row + 1))
        if not (number.isascii() and number.isdigit() and len(number) <= 7):
            self.bad("its row")
        if int(number) > LAST_ROW:
            raise Refused(Code.OFF_THE_SHEET, self.place, cell=f"A{number}")
        if int(number) <= self.row:
            raise Refused(Code.OUT_OF_ORDER, self.place, cell=f"A{number}")
        self.row, self.column = int(number), 0
        if attributes.get("hidden", "") in TRUE or attributes.get("ht") == "0":
            self.facts.hidden_rows.append(self.row)

    def begin_cell(self, attributes: dict[str, str]) -> None:
        name = attributes.get("r")
        if name is None:
            row, column = self.row, self.column + 1
        else:
            match = CELL_NAME.fullmatch(name)
            if match is None:
                self.bad(f"its name {quoted(name)}")
            row, column = int(match[2]), column_index_from_string(match[1])
        if column > LAST_COLUMN or row > LAST_ROW:
            raise Refused(Code.OFF_THE_SHEET, self.place, cell=name or self.cell)
        if row != self.row or column <= self.column:
            raise Refused(Code.OUT_OF_ORDER, self.place, cell=name or self.cell)
        self.column = column
        self.facts.cells += 1
        if self.facts.cells > self.cells_left:
            raise Refused(Code.TOO_MANY_CELLS, most=f"{self.limits.cells:,}")
        self.type = attributes.get("t", "n")
        style = attributes.get("s", "0")
        if not (style.isascii() and style.isdigit()):
            self.bad("its style")
        self.value.clear()
        self.rules.begin(5)
        self.contents: list[str] = []

    def begin_content(self, tag: str) -> None:
        if tag in self.contents or (tag == INLINE) > (self.type == "inlineStr"):
            self.bad("what is in it")
        self.contents.append(tag)
        self.in_value, self.in_inline = tag == VALUE, tag == INLINE

    def end_cell(self) -> None:
        value = "".join(self.value)
        if self.type in STORED:
            if value and not STORED[self.type].fullmatch(value):
                self.bad(f"value {quoted(value)}")
        elif self.type not in TEXT_TYPES or (value and self.type == "inlineStr"):
            self.bad(f"type {quoted(self.type)}")
        if self.rules.broken:
            self.bad("its text")
        self.check_text(max(len(value), self.rules.length))
        has_formula = FORMULA in self.contents
        if value or self.rules.length or has_formula:
            self.holds_something()
        if has_formula:
            self.facts.formulas.add((self.row, self.column))

    def holds_something(self) -> None:
        if self.row > self.limits.rows + HEADER_ROW:
            last, most = self.limits.rows + HEADER_ROW, f"{self.limits.rows:,}"
            raise Refused(Code.TOO_MANY_ROWS, self.place, last=f"{last:,}", most=most)
        if self.column > self.limits.columns:
            most = f"{self.limits.columns:,}"
            letter = get_column_letter(self.limits.columns)
            raise Refused(Code.TOO_MANY_COLUMNS, self.place, last=letter, most=most)
        self.facts.last_row = self.row
        self.facts.last_column = max(self.facts.last_column, self.column)

    @property
    def cell(self) -> str:
        return f"{get_column_letter(max(self.column, 1))}{max(self.row, 1)}"

    def bad(self, detail: str) -> NoReturn:
        raise Refused(Code.BAD_CELL, self.place, cell=self.cell, detail=detail)

    def bad_sheet(self, detail: str) -> NoReturn:
        raise Refused(Code.BAD_SHEET, self.place, detail=detail)
