"""Six-digit dates of GS1 codes (YYMMDD), read against an injected today.

The century window reaches from 49 years back to 50 years ahead (GS1 General Specifications,
7.12).  Day 00 means the last day of the month and is told apart, because a healthcare item
encoded from 2025 on must state its day.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from implants.udi.check_digit import is_digits

YEARS_AHEAD = 50


@dataclass(frozen=True, slots=True)
class CodeDate:
    """`day_stated` False: the code said day 00, `date` is the last day of that month."""

    date: date
    day_stated: bool


def full_year(two_digits: int, *, today: date) -> int:
    """The one year within the window around `today` that ends in `two_digits`."""
    last = today.year + YEARS_AHEAD
    return last - (last - two_digits) % 100


def read_date(text: str, *, today: date) -> CodeDate:
    """Read YYMMDD; day 00 is the last of the month.  ValueError if there is no such day."""
    if len(text) != 6 or not is_digits(text):
        raise ValueError(f"six digits YYMMDD, not {text!r}")
    year, month, day = full_year(int(text[:2]), today=today), int(text[2:4]), int(text[4:])
    if not 1 <= month <= 12:
        raise ValueError(f"no month {month:02}")
    if day == 0:
        return CodeDate(date(year, month, monthrange(year, month)[1]), day_stated=False)
    return CodeDate(date(year, month, day), day_stated=True)


def write_date(day: date) -> str:
    """YYMMDD.  The century is not written: the reader takes it from its own today."""
    return f"{day.year % 100:02}{day.month:02}{day.day:02}"
