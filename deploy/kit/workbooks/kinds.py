"""From a cell to the value that its column wants: one reader a kind."""

from __future__ import annotations

from collections.abc import Callable

from deploy.kit.workbooks.cells import Cell, check_no_error
from deploy.kit.workbooks.columns import LONGEST_CHOICE, Column, Kind, same
from deploy.kit.workbooks.dates import read_date, read_moment, read_time
from deploy.kit.workbooks.faults import Unfit, quoted
from deploy.kit.workbooks.gtins import read_gtin
from deploy.kit.workbooks.neutral import plain
from deploy.kit.workbooks.numbers import read_decimal, read_whole
from deploy.kit.workbooks.texts import read_code, read_text
from deploy.kit.workbooks.values import Value
from deploy.kit.workbooks.words import Code

YES_NO = {"yes": True, "no": False}
READERS: dict[Kind, Callable[[Cell], Value]] = {
    Kind.WHOLE: read_whole,
    Kind.DECIMAL: read_decimal,
    Kind.DATE: read_date,
    Kind.TIME: read_time,
    Kind.MOMENT: read_moment,
    Kind.GTIN: read_gtin,
}


def read_value(column: Column, cell: Cell) -> Value:
    """The value of a cell that is not blank.  Raises Unfit."""
    match column.kind:
        case Kind.CODE:
            return read_code(cell, column.most)
        case Kind.TEXT:
            return read_text(cell, column.most)
        case Kind.CHOICE:
            return read_choice(cell, column.choices)
        case Kind.YES_NO:
            return read_yes_no(cell)
    return READERS[column.kind](cell)


def read_choice(cell: Cell, choices: tuple[str, ...]) -> str:
    """The choice as the list spells it.  A number counts if it reads exactly as one."""
    check_no_error(cell)
    said = str(cell.trimmed) if isinstance(cell.stood, str) else cell.shown
    if len(said) <= LONGEST_CHOICE:
        for choice in choices:
            if same(plain(said)) == same(choice):
                return choice
    raise Unfit(Code.NOT_A_CHOICE, value=quoted(cell.shown), choices=", ".join(choices))


def read_yes_no(cell: Cell) -> bool:
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, bool):
        return stood
    if not isinstance(stood, str) or stood.casefold() not in YES_NO:
        raise Unfit(Code.NOT_YES_OR_NO, value=quoted(cell.shown))
    return YES_NO[stood.casefold()]
