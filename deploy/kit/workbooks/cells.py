"""One cell as the reader gives it, before its column is asked what it wants."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime

from deploy.kit.workbooks.faults import Unfit
from deploy.kit.workbooks.words import Code

ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA")
EDGES = "\ufeff\u200b\u200c\u200d\u2060"
"""Invisible at the edges of a pasted text, and no whitespace to Python."""

# What does not show in a number format: quoted texts, brackets but for [h] [m] [s], fillers.
NOT_SHOWN = re.compile(r'"[^"]*"|\[(?![hms]+\])[^\]]*\]|\\.|[_*].')


@dataclass(frozen=True, slots=True)
class Cell:
    """`stood`: text, number, true or false, date or time, None when empty; `is_error` for #N/A
    and the like; `number_format` as Excel writes it.  `trimmed` is worked out once: `stood`
    without whitespace (no-break space included) at the edges of a text, None if blank.
    """

    stood: object
    number_format: str = "General"
    is_error: bool = False
    trimmed: object = field(init=False)

    def __post_init__(self) -> None:
        trimmed = trim(self.stood) or None if isinstance(self.stood, str) else self.stood
        object.__setattr__(self, "trimmed", trimmed)

    @property
    def shown(self) -> str:
        """For messages."""
        if isinstance(self.stood, bool):
            return str(self.stood).upper()
        if isinstance(self.stood, datetime):
            return self.stood.isoformat(" ", "minutes")
        if isinstance(self.stood, float):
            return f"{self.stood:.15g}"
        return str(self.stood)


def trim(text: str) -> str:
    before = ""
    while text != before:
        text, before = text.strip().strip(EDGES), text
    return text


def check_no_error(cell: Cell) -> None:
    if cell.is_error or cell.trimmed in ERRORS:
        raise Unfit(Code.ERROR_VALUE, value=str(cell.stood)[:20])


def check_number_format_shows(cell: Cell, letters: str) -> None:
    """Refuse a date of which the sheet does not show every part: the program made up the rest.

    Typed "Mar-27" becomes the first of the month, typed "3-Mar" becomes this year.
    """
    shown = NOT_SHOWN.sub("", cell.number_format.split(";")[0]).casefold()
    # A date may be stored as ISO text under the general format: nothing made up there.
    if shown != "general" and not all(letter in shown for letter in letters):
        raise Unfit(Code.DATE_WITHOUT_DAY, value=cell.shown)
