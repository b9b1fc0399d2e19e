"""The first row matched to the columns that the sheet should have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from openpyxl.utils import get_column_letter

from deploy.kit.workbooks.areas import Area
from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.columns import REASON, Column, SheetSpec, same
from deploy.kit.workbooks.faults import Fault, Notice, Place
from deploy.kit.workbooks.sheet_scan import HEADER_ROW
from deploy.kit.workbooks.words import Code


@dataclass(slots=True)
class Headers:
    """`columns`: column number → column.  `unread`: those left alone on purpose, `bare`: those
    without a header, which must hold nothing."""

    columns: dict[int, Column] = field(default_factory=dict)
    unread: set[int] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)


def match_headers(
    spec: SheetSpec,
    cells: Sequence[Cell],
    formulas: set[tuple[int, int]],
    merges: Sequence[Area],
) -> Headers:
    """Every fault of the header at once; order, case and odd spaces do not matter."""
    found = Headers()
    wanted = {same(column.name): column for column in spec.columns}
    seen: dict[str, str] = {}
    for number, cell in enumerate(cells, start=1):
        stood = cell.trimmed
        if stood is None:
            continue
        letter = get_column_letter(number)
        place = Place(spec.name, HEADER_ROW, letter=letter)
        if not isinstance(stood, str) or cell.is_error or (HEADER_ROW, number) in formulas:
            found.faults.append(Fault(Code.HEADER_NOT_TEXT, place))
            found.unread.add(number)
            continue
        name, place = same(stood), Place(spec.name, HEADER_ROW, stood, letter)
        if name in seen:
            found.faults.append(Fault(Code.HEADER_TWICE, place, {"first": seen[name]}))
            found.unread.add(number)
            continue
        seen[name] = letter
        if area := next((area for area in merges if touches_header(area, number)), None):
            found.faults.append(Fault(Code.HEADER_MERGED, place, {"area": area}))
        if name in wanted:
            found.columns[number] = wanted[name]
            continue
        found.unread.add(number)
        if name != same(REASON):
            unknown(found, spec, place)
    for column in spec.columns:
        if same(column.name) not in seen:
            place = Place(spec.name, HEADER_ROW, column.name)
            found.faults.append(Fault(Code.HEADER_MISSING, place))
    return found


def unknown(found: Headers, spec: SheetSpec, place: Place) -> None:
    if spec.other_columns:
        found.notices.append(Notice(Code.COLUMN_NOT_READ, place))
    else:
        known = ", ".join(spec.names)
        found.faults.append(Fault(Code.HEADER_UNKNOWN, place, {"known": known}))


def touches_header(area: Area, column: int) -> bool:
    return area.top <= HEADER_ROW and area.left <= column <= area.right
