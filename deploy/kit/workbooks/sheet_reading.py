"""One sheet from its header to its last row, with what is to be said about the sheet as a whole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from openpyxl.utils import get_column_letter

from deploy.kit.workbooks.areas import Area
from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.columns import SheetSpec
from deploy.kit.workbooks.faults import Fault, Notice, Place, Refused
from deploy.kit.workbooks.headers import match_headers
from deploy.kit.workbooks.limits import Limits
from deploy.kit.workbooks.rows import RowReader
from deploy.kit.workbooks.sheet_scan import HEADER_ROW, SheetFacts
from deploy.kit.workbooks.values import Restored, Row
from deploy.kit.workbooks.words import Code


class SheetReading:
    """Collects rows, faults and notices of one sheet."""

    def __init__(
        self, spec: SheetSpec, facts: SheetFacts, limits: Limits, most_faults: int
    ) -> None:
        self.spec, self.facts, self.limits, self.most_faults = spec, facts, limits, most_faults
        self.rows: list[Row] = []
        self.faults: list[Fault] = []
        self.notices: list[Notice] = []
        self.restored: list[Restored] = []

    def read(self, rows: Iterator[Sequence[Cell]]) -> None:
        areas = self.areas()
        header = next(rows, [])
        headers = match_headers(self.spec, header, self.facts.formulas, areas)
        if all(cell.trimmed is None for cell in header):
            self.faults.append(Fault(Code.NO_HEADER, Place(self.spec.name)))
            return
        self.faults += headers.faults
        self.notices += headers.notices
        reader = RowReader(self.spec, headers, self.facts, self.merged(areas))
        for row in reader.rows(enumerate(rows, start=HEADER_ROW + 1)):
            self.rows.append(row)
            self.faults += row.faults
            if len(self.faults) > self.most_faults:
                most = {"most": f"{self.limits.faults:,}"}
                place = Place(self.spec.name, row.number)
                self.faults.append(Fault(Code.TOO_MANY_FAULTS, place, most))
                break
        if not self.rows and not self.spec.may_be_empty:
            self.faults.append(Fault(Code.NO_ROWS, Place(self.spec.name)))
        self.restored = reader.restored
        self.notices += self.hidden()

    def areas(self) -> list[Area]:
        """Merged areas, cut to the table."""
        areas = [
            cut
            for area in self.facts.merges
            if (cut := area.within(self.facts.last_row, self.facts.last_column)) and cut.size > 1
        ]
        if sum(area.size for area in areas) > self.limits.merged_cells:
            raise Refused(Code.TOO_MANY_MERGES, Place(self.spec.name))
        return areas

    def merged(self, areas: Sequence[Area]) -> dict[tuple[int, int], Area]:
        """Every merged cell below the header → its area; and the notice that none is filled."""
        merged = {}
        for area in areas:
            if area.bottom > HEADER_ROW:
                place = Place(self.spec.name)
                self.notices.append(Notice(Code.MERGED_NOT_FILLED, place, {"area": area}))
            for row in range(area.top, area.bottom + 1):
                for column in range(area.left, area.right + 1):
                    merged[row, column] = area
        return merged

    def hidden(self) -> Iterator[Notice]:
        numbers = {row.number for row in self.rows}
        rows = [row for row in self.facts.hidden_rows if row in numbers]
        if rows:
            shown = {"rows": spans(rows)}
            yield Notice(Code.ROWS_HIDDEN, Place(self.spec.name), shown)
        columns = [
            number
            for number in range(1, self.facts.last_column + 1)
            if any(first <= number <= last for first, last in self.facts.hidden_columns)
        ]
        if columns:
            shown = {"columns": ", ".join(map(get_column_letter, columns))}
            yield Notice(Code.COLUMNS_HIDDEN, Place(self.spec.name), shown)


def spans(numbers: Sequence[int]) -> str:
    """[2, 3, 4, 7] as "2–4, 7"."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1][1:] = [number]
        else:
            parts.append([number])
    return ", ".join("–".join(map(str, part)) for part in parts)
