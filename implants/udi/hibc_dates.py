"""The dates of HIBC codes: a digit says the form, the form the length.

Source: IMDRF/UDI WG/N48:2019, App. A.  Years of two digits are read in the same window around
today as those of GS1; a form without a day means the last of the month and is told apart.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from implants.udi.check_digit import is_digits
from implants.udi.dates import CodeDate, full_year

MONTH_AND_YEAR = "MMYY"
DAY_OF_YEAR = "YYJJJ"
LONG_DATE = "YYYYMMDD"

FORMS: Mapping[str, str] = {
    "0": MONTH_AND_YEAR,
    "1": MONTH_AND_YEAR,
    "2": "MMDDYY",
    "3": "YYMMDD",
    "4": "YYMMDDHH",
    "5": DAY_OF_YEAR,
    "6": "YYJJJHH",
    "7": "",
}
"""What stands first → the form.  In MMYY it is the month's own first digit, else no part of the
date.  JJJ is the day of the year; 7 says that there is no date."""


@dataclass(frozen=True, slots=True)
class DatedText:
    """`date` None: the text says that there is none.  `rest`: what follows the date."""

    date: CodeDate | None
    rest: str


def take_date(text: str, *, today: date) -> DatedText:
    """The date with which `text` begins.  ValueError if there is none of a known form."""
    form = FORMS.get(text[:1])
    if form is None:
        raise ValueError(f"no form of a date: {text!r}")
    if form != MONTH_AND_YEAR:
        text = text[1:]
    read = read_form(form, text[: len(form)], today=today) if form else None
    return DatedText(read, text[len(form) :])


def read_form(form: str, written: str, *, today: date) -> CodeDate:
    """`written` read as that form.  ValueError if it is too short or no day of the calendar."""
    if len(written) != len(form) or not is_digits(written):
        raise ValueError(f"{form}, not {written!r}")
    parts = {letter: _part(form, written, letter) for letter in "YMDJH"}
    year = parts["Y"] if "YYYY" in form else full_year(parts["Y"], today=today)
    if parts["H"] > 23:
        raise ValueError(f"no hour {parts['H']}")
    if "J" in form:
        day = date(year, 1, 1) + timedelta(days=parts["J"] - 1)
        if day.year != year:
            raise ValueError(f"no day {parts['J']} in {year}")
        return CodeDate(day, day_stated=True)
    if "D" in form:
        return CodeDate(date(year, parts["M"], parts["D"]), day_stated=True)
    if not 1 <= parts["M"] <= 12:
        raise ValueError(f"no month {parts['M']}")
    return CodeDate(date(year, parts["M"], monthrange(year, parts["M"])[1]), day_stated=False)


def _part(form: str, written: str, letter: str) -> int:
    """The number that stands where the form has the letter; 0 where it has none."""
    digits = (digit for place, digit in zip(form, written, strict=True) if place == letter)
    return int("".join(digits) or "0")
