"""GTINs: text of digits, or a number whose leading zeros can be put back beyond doubt.

The check digit is modulo 10, weights 3 and 1 alternating from the right.  Source: GS1, check digit
calculator, manual calculation.
"""

from __future__ import annotations

from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.faults import Unfit, quoted
from deploy.kit.workbooks.texts import written
from deploy.kit.workbooks.words import Code

DIGITS = 14
LENGTHS = (8, 12, 13, 14)
LEAST_DIGITS_OF_NUMBER = 8
"""One short number in ten has a right check digit by chance; no GTIN of an implant is so short."""


def read_gtin(cell: Cell) -> str:
    """14 digits with a right check digit.  Of a number the caller asks a person: `is_restored`."""
    if is_restored(cell):
        return from_number(cell)
    text = written(cell)
    if not (text.isascii() and text.isdigit() and len(text) in LENGTHS) or not int(text):
        raise Unfit(Code.NOT_A_GTIN, value=quoted(text))
    if not fits(text):
        raise Unfit(Code.GTIN_CHECK_DIGIT, value=quoted(text))
    return text.zfill(DIGITS)


def is_restored(cell: Cell) -> bool:
    """Whether the cell holds a number, so that a person must confirm the zeros put back."""
    return isinstance(cell.stood, int | float) and not isinstance(cell.stood, bool)


def from_number(cell: Cell) -> str:
    number = cell.stood
    digits = str(int(number)) if isinstance(number, int | float) and number % 1 == 0 else ""
    fitting = digits.isdigit() and LEAST_DIGITS_OF_NUMBER <= len(digits) <= DIGITS
    if not fitting or not fits(digits):
        raise Unfit(Code.GTIN_NUMBER, value=cell.shown[:40])
    return digits.zfill(DIGITS)


def fits(digits: str) -> bool:
    """Whether the last digit is the check digit of those before it."""
    weighted = sum(
        int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))
    )
    return weighted % 10 == 0
