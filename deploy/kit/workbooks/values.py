"""What a reading gives: sheets of rows, and all that was wrong or worth knowing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal

from deploy.kit.workbooks.faults import Fault, Notice, Place, quoted

Value = str | int | bool | Decimal | date | time | datetime
"""A moment (datetime) is naive: local time of the site, as the person typed it."""


@dataclass(frozen=True, slots=True)
class Restored:
    """A GTIN that stood as a number, its leading zeros put back: a person must confirm it."""

    place: Place
    stood: str
    value: str

    def __str__(self) -> str:
        said = (
            f"{self.place}: the number {self.stood} was read as GTIN {quoted(self.value)}; "
            "compare it with the label and confirm."
        )
        return f"{said[0].upper()}{said[1:]}"


@dataclass(frozen=True, slots=True)
class Row:
    """One row.  `values` holds the cells that fit, by column name; an optional cell left empty is
    not among them.  `stood` is every known cell as it was, to hand the row back.
    """

    number: int
    values: Mapping[str, Value]
    stood: Mapping[str, object]
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of one sheet in order; blank rows are left out, row numbers are the workbook's.

    `unfit`: for whoever compares the rows, those that are left out because a cell does not fit.
    """

    name: str
    rows: tuple[Row, ...]
    unfit: tuple[Row, ...] = ()

    def named(self, column: str) -> Iterator[str]:
        """What the rows are about, the unfit too: what refers to such a row is not refused as
        well, for the fault is not there."""
        return (
            str(row.values[column]) for row in (*self.rows, *self.unfit) if column in row.values
        )


@dataclass(frozen=True, slots=True)
class Reading:
    """A workbook read to the end, or refused: every fault at once.

    `faults` has those of the rows too.  Use the rows for writing only when `ok`, and only after a
    person confirmed `restored`.
    """

    sha256: str
    sheets: Mapping[str, Sheet]
    faults: tuple[Fault, ...] = ()
    notices: tuple[Notice, ...] = ()
    restored: tuple[Restored, ...] = ()

    @property
    def ok(self) -> bool:
        return not self.faults

    def refused_rows(self) -> Iterator[tuple[Sheet, Row]]:
        for sheet in self.sheets.values():
            for row in sheet.rows:
                if row.faults:
                    yield sheet, row
