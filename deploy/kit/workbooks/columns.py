"""How an import says what it wants: columns, sheets, the workbook.  A few lines an import."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

REASON = "Reason refused"
"""The column in which refused rows come back.  Known on every sheet, and never read."""
HELP_SHEET = "How to fill in"
LISTS_SHEET = "Lists"
OWN_SHEETS = (HELP_SHEET, LISTS_SHEET)
"""Sheets that our templates bring along.  Never read, and not worth a notice."""
MOST_SHEET_NAME = 31
LONGEST_CHOICE = 200


class Kind(StrEnum):
    CODE = "code"
    """REF, LOT, serial, case reference: printable ASCII, exactly as on the label."""
    TEXT = "text"
    """Names and notes: any script."""
    WHOLE = "whole number"
    DECIMAL = "number"
    DATE = "date"
    TIME = "time of day"
    MOMENT = "date and time"
    YES_NO = "yes or no"
    CHOICE = "one of a list"
    GTIN = "GTIN"


@dataclass(frozen=True, slots=True)
class Column:
    """One column.  `key`: names what the row is about, so it is required and takes neither
    formulas nor merged cells.  `formulas`: the value that a formula last gave is taken.
    `choices` belong to Kind.CHOICE; `most` is the longest text.  ValueError for nonsense.
    """

    name: str
    kind: Kind = Kind.TEXT
    key: bool = False
    required: bool = False
    choices: tuple[str, ...] = ()
    formulas: bool = False
    most: int = 200
    note: str = ""
    example: str = ""

    def __post_init__(self) -> None:
        if not self.name or self.name != " ".join(self.name.split()):
            raise ValueError(f"a header without odd spaces, not {self.name!r}")
        if same(self.name) == same(REASON):
            raise ValueError(f"{REASON!r} is kept for refused rows")
        if (self.kind is Kind.CHOICE) != bool(self.choices):
            raise ValueError(f"{self.name}: choices belong to Kind.CHOICE, and it needs them")
        if len({same(choice) for choice in self.choices}) < len(self.choices):
            raise ValueError(f"{self.name}: two choices differ in case or spaces alone")
        if any(len(choice) > LONGEST_CHOICE for choice in self.choices):
            raise ValueError(f"{self.name}: a choice has more than {LONGEST_CHOICE} characters")
        if self.key and self.formulas:
            raise ValueError(f"{self.name}: a key column takes no formulas")

    @property
    def must_be_filled(self) -> bool:
        return self.key or self.required


@dataclass(frozen=True, slots=True)
class SheetSpec:
    """One sheet, headers in row 1 in any order.  `once`: columns that together may stand in one
    row only.  `other_columns`: columns not named here are left unread (and said) instead of
    refused.
    """

    name: str
    columns: tuple[Column, ...]
    once: tuple[str, ...] = ()
    other_columns: bool = False
    may_be_empty: bool = False

    def __post_init__(self) -> None:
        names = [same(column.name) for column in self.columns]
        if len(set(names)) < len(names):
            raise ValueError(f"{self.name}: two columns of one name")
        if not 0 < len(self.name) <= MOST_SHEET_NAME or self.name in OWN_SHEETS:
            raise ValueError(f"not a name for a sheet: {self.name!r}")
        if strangers := [name for name in self.once if name not in self.names]:
            raise ValueError(f"{self.name}: once names no column: {strangers}")

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)


@dataclass(frozen=True, slots=True)
class WorkbookSpec:
    """A kind of workbook, for instance `shelf`; `kind` also tells imports of one file apart."""

    kind: str
    sheets: tuple[SheetSpec, ...]


def same(header: str) -> str:
    """Headers, choices and sheet names are the same when they differ in case and spaces alone."""
    return " ".join(header.split()).casefold()
