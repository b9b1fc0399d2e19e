"""The fields of HIBC codes behind the item: lot or serial, dates, quantity, by how each begins.

Source: IMDRF/UDI WG/N48:2019, App. A.  Parts are named by the identifiers that GS1 has for them,
so that faults and cautions have one set of words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date

from implants.udi.dates import CodeDate
from implants.udi.elements import LOT, MADE, QUANTITY, SERIAL, USE_BY
from implants.udi.faults import Fault, ScanError
from implants.udi.hibc_dates import DAY_OF_YEAR, LONG_DATE, read_form, take_date

HIBC = "HIBC"
"""Stands for the code as a whole where a fault names a part."""

LOT_OR_SERIAL = re.compile(r"[A-Z0-9.\-]{1,20}")
BEGINS_WITH_DATE = re.compile(r"[0-9]{5}.*")
QUANTITY_DIGITS = {"8": 2, "9": 5}


@dataclass(slots=True)
class HibcFields:
    """What was said so far, as it was written, and the dates as they were read."""

    said: dict[str, str] = field(default_factory=dict)
    dates: dict[str, CodeDate] = field(default_factory=dict)

    def add(self, text: str, *, today: date) -> None:
        """Read one field.  ScanError where it is of no known form, empty, or contradicts."""
        if text.startswith("$$+"):
            self._dated(SERIAL, text[3:], today)
        elif text.startswith("$$"):
            self._dated(LOT, text[2:], today)
        elif text.startswith("$+"):
            self._named(SERIAL, text[2:])
        elif text.startswith("$"):
            self._named(LOT, text[1:])
        elif text.startswith("S"):
            self._named(SERIAL, text[1:])
        elif text.startswith("16D"):
            self._date(MADE, LONG_DATE, text[3:], today)
        elif text.startswith("14D"):
            self._date(USE_BY, LONG_DATE, text[3:], today)
        elif text.startswith("Q"):
            self._quantity(text[1:], 1, 5)
        elif BEGINS_WITH_DATE.fullmatch(text):
            self._date(USE_BY, DAY_OF_YEAR, text[:5], today)
            self._named(LOT, text[5:])
        else:
            raise ScanError(Fault.FORM, ai=HIBC, value=text, form="lot, serial, date or quantity")

    def say(self, name: str, value: str) -> None:
        """ScanError if the same part was said otherwise before."""
        other = self.said.setdefault(name, value)
        if other != value:
            raise ScanError(Fault.STATED_TWICE, ai=name, value=other, other=value)

    def _dated(self, name: str, text: str, today: date) -> None:
        """Perhaps a quantity, then a date, then the lot or serial."""
        if length := QUANTITY_DIGITS.get(text[:1]):
            self._quantity(text[1 : 1 + length], length, length)
            text = text[1 + length :]
            if not text:
                return
        try:
            dated = take_date(text, today=today)
        except ValueError as error:
            raise ScanError(Fault.DATE, ai=USE_BY, value=text) from error
        if dated.date is not None:
            self._say_date(USE_BY, dated.date)
        if dated.rest:
            self._named(name, dated.rest)

    def _named(self, name: str, value: str) -> None:
        if not value:
            raise ScanError(Fault.EMPTY, ai=name)
        if LOT_OR_SERIAL.fullmatch(value) is None:
            raise ScanError(Fault.FORM, ai=name, value=value, form="X..20")
        self.say(name, value)

    def _quantity(self, digits: str, least: int, most: int) -> None:
        if not (digits.isdigit() and least <= len(digits) <= most):
            raise ScanError(Fault.FORM, ai=QUANTITY, value=digits, form=f"N..{most}")
        self.say(QUANTITY, str(int(digits)))

    def _date(self, name: str, form: str, written: str, today: date) -> None:
        try:
            self._say_date(name, read_form(form, written, today=today))
        except ValueError as error:
            if isinstance(error, ScanError):
                raise
            raise ScanError(Fault.DATE, ai=name, value=written) from error

    def _say_date(self, name: str, read: CodeDate) -> None:
        self.say(name, read.date.isoformat())
        self.dates[name] = read
