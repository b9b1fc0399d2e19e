"""Numbers: exact, with at most the 15 digits that a spreadsheet keeps and shows."""

from __future__ import annotations

import re
from datetime import date, time, timedelta
from decimal import Decimal
from math import isfinite

from deploy.kit.workbooks.cells import Cell, check_no_error
from deploy.kit.workbooks.faults import Unfit, quoted
from deploy.kit.workbooks.neutral import plain
from deploy.kit.workbooks.words import Code

DIGITS_KEPT = 15
MOST_WHOLE = 1_000_000
"""What is counted in a workbook (minutes, days, pieces) is never more, nor less than nothing."""
TOO_LARGE = 10**DIGITS_KEPT
WRITTEN = re.compile(r"-?\d{1,30}(\.\d{1,30})?", re.ASCII)


def read_decimal(cell: Cell) -> Decimal:
    """A number, or a text of digits with a point.  "1,5" and "1 000" are refused, not guessed."""
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, date | time | timedelta):
        raise Unfit(Code.DATE_FOR_NUMBER, value=cell.shown)
    if isinstance(stood, str) and WRITTEN.fullmatch(plain(stood)):
        return Decimal(plain(stood))
    if isinstance(stood, bool) or not isinstance(stood, int | float) or not isfinite(stood):
        raise Unfit(Code.NOT_A_NUMBER, value=quoted(cell.shown))
    if abs(stood) >= TOO_LARGE:
        raise Unfit(Code.NUMBER_TOO_LONG, value=cell.shown[:40])
    # As shown: 0.1 + 0.2 is stored as 0.30000000000000004 and shown as 0.3.
    return Decimal(f"{stood:.15g}") if isinstance(stood, float) else Decimal(stood)


def read_whole(cell: Cell) -> int:
    number = read_decimal(cell)
    if number != number.to_integral_value():
        raise Unfit(Code.NOT_WHOLE, value=quoted(cell.shown))
    if number < 0:
        raise Unfit(Code.LESS_THAN_NOTHING, value=quoted(cell.shown))
    if number > MOST_WHOLE:
        raise Unfit(Code.TOO_MANY, value=quoted(cell.shown), most=str(MOST_WHOLE))
    return int(number)
