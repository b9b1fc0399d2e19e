"""What is wrong with a workbook, as data: where, what, and how to mend it.

The sentences stand in `words.py`; a code without its words fails at import.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from deploy.kit.workbooks.words import NOTICES, WORDS, Code

SHOWN = 40
"""So many characters of a cell are repeated in a message."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a workbook.  All empty: the file itself; `column` is the header, `letter` Excel's
    own name of the column."""

    sheet: str = ""
    row: int | None = None
    column: str = ""
    letter: str = ""

    def __str__(self) -> str:
        parts = []
        if self.sheet:
            parts.append(f"sheet {quoted(self.sheet)}")
        if self.row is not None:
            parts.append(f"row {self.row}")
        if self.column:
            parts.append(
                f"column {quoted(self.column)}" + (f" ({self.letter})" * bool(self.letter))
            )
        elif self.letter:
            parts.append(f"column {self.letter}")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a workbook, a sheet, a row or a cell is refused.  `values` fill the words' places."""

    code: Code
    place: Place = Place()
    values: Mapping[str, object] = field(default_factory=dict)

    @property
    def what(self) -> str:
        return WORDS[self.code][0].format(**self.values)

    @property
    def mend(self) -> str:
        return WORDS[self.code][1].format(**self.values)

    def __str__(self) -> str:
        where = str(self.place)
        sentence = f"{where}: {self.what}" if where else self.what
        return f"{sentence[0].upper()}{sentence[1:]}. {self.mend}."

    @property
    def beside_row(self) -> str:
        """The sentence for whoever has the row before them."""
        column = self.place.column or self.place.letter
        return f"{column}: {self.what}. {self.mend}."


@dataclass(frozen=True, slots=True)
class Notice:
    """What a person should know about a reading that is not refused for it."""

    code: Code
    place: Place = Place()
    values: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        where = str(self.place)
        what = NOTICES[self.code].format(**self.values)
        sentence = f"{where}: {what}" if where else what
        return f"{sentence[0].upper()}{sentence[1:]}."


class Refused(Exception):
    """The file as a whole can't be read: a single fault says why."""

    def __init__(self, code: Code, place: Place | None = None, /, **values: object) -> None:
        self.fault = Fault(code, place or Place(), values)
        super().__init__(str(self.fault))


class Unfit(Exception):
    """A cell does not hold what its column wants; whoever knows the place makes a Fault of it."""

    def __init__(self, code: Code, /, **values: object) -> None:
        self.code, self.values = code, values
        super().__init__(code)


def quoted(value: object) -> str:
    """`value` for a message: in quotes, cut to length, without characters that could hide."""
    text = str(value)
    cut = text if len(text) <= SHOWN else f"{text[: SHOWN - 1]}…"
    shown = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in cut)
    return f"“{shown}”"
