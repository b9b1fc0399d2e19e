"""The rows of one sheet, each cell asked whether it fits its column."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from openpyxl.utils import get_column_letter

from deploy.kit.workbooks.areas import Area
from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec
from deploy.kit.workbooks.faults import Fault, Place, Unfit, quoted
from deploy.kit.workbooks.gtins import is_restored
from deploy.kit.workbooks.headers import Headers
from deploy.kit.workbooks.kinds import read_value
from deploy.kit.workbooks.sheet_scan import SheetFacts
from deploy.kit.workbooks.values import Restored, Row, Value
from deploy.kit.workbooks.words import Code


class RowReader:
    """Turns rows of cells into Rows; collects what a person must confirm on the way."""

    def __init__(
        self,
        spec: SheetSpec,
        headers: Headers,
        facts: SheetFacts,
        merged: Mapping[tuple[int, int], Area],
    ) -> None:
        self.spec, self.headers, self.facts, self.merged = spec, headers, facts, merged
        self.restored: list[Restored] = []
        self.first_row_of: dict[tuple[Value, ...], int] = {}

    def rows(self, numbered: Iterator[tuple[int, Sequence[Cell]]]) -> Iterator[Row]:
        for number, cells in numbered:
            if any(cell.trimmed is not None for cell in cells) or self.has_formula(number, cells):
                yield self.row(number, cells)

    def has_formula(self, row: int, cells: Sequence[Cell]) -> bool:
        """A formula without a value shows as blank; the row is there all the same."""
        return any((row, column) in self.facts.formulas for column in range(1, len(cells) + 1))

    def row(self, number: int, cells: Sequence[Cell]) -> Row:
        values: dict[str, Value] = {}
        stood: dict[str, object] = {}
        faults: list[Fault] = []
        for at, cell in enumerate(cells, start=1):
            column = self.headers.columns.get(at)
            if column is None:
                faults += self.without_header(number, at, cell)
                continue
            stood[column.name] = cell.stood
            try:
                value = self.value(number, at, column, cell)
            except Unfit as unfit:
                place = self.place(number, at, column)
                faults.append(Fault(unfit.code, place, unfit.values))
            else:
                if value is not None:
                    values[column.name] = value
        if not faults:
            faults += self.said_before(number, values)
        return Row(number, values, stood, tuple(faults))

    def value(self, row: int, at: int, column: Column, cell: Cell) -> Value | None:
        """None for an optional cell left empty.  Raises Unfit."""
        area = self.merged.get((row, at))
        if (row, at) in self.facts.formulas:
            if not column.formulas:
                raise Unfit(Code.FORMULA)
            if cell.trimmed is None:
                raise Unfit(Code.FORMULA_NOT_WORKED_OUT)
        if area and column.key:
            raise Unfit(Code.MERGED, area=area)
        if cell.trimmed is None:
            if column.must_be_filled:
                raise Unfit(Code.MERGED_EMPTY, area=area) if area else Unfit(Code.REQUIRED)
            return None
        value = read_value(column, cell)
        if value == "":
            # Nothing but the mark of a neutralised text.
            raise Unfit(Code.REQUIRED)
        if column.kind is Kind.GTIN and is_restored(cell):
            self.restored.append(Restored(self.place(row, at, column), cell.shown, str(value)))
        return value

    def without_header(self, row: int, at: int, cell: Cell) -> list[Fault]:
        if at in self.headers.unread or cell.trimmed is None:
            return []
        place = Place(self.spec.name, row, letter=get_column_letter(at))
        return [Fault(Code.VALUES_WITHOUT_HEADER, place)]

    def said_before(self, row: int, values: Mapping[str, Value]) -> list[Fault]:
        """Whether an earlier row says the same in the columns that may say it once."""
        if not self.spec.once or any(name not in values for name in self.spec.once):
            return []
        said = tuple(values[name] for name in self.spec.once)
        first = self.first_row_of.setdefault(said, row)
        if first == row:
            return []
        shown = quoted(", ".join(map(str, said)))
        place = Place(self.spec.name, row, ", ".join(self.spec.once))
        return [Fault(Code.ROW_TWICE, place, {"first": first, "value": shown})]

    def place(self, row: int, at: int, column: Column) -> Place:
        return Place(self.spec.name, row, column.name, get_column_letter(at))
