"""Texts and codes: what is kept, what is tidied, what is refused."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, time, timedelta

from deploy.kit.workbooks.cells import Cell, check_no_error
from deploy.kit.workbooks.faults import Unfit, quoted
from deploy.kit.workbooks.neutral import plain
from deploy.kit.workbooks.words import Code

BREAKS = "\t\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029"
INVISIBLE = ("Cc", "Cf", "Cs", "Co", "Cn")
"""Unicode categories: control, format, surrogate, private, unassigned."""
ESCAPED = re.compile(r"_x[0-9A-Fa-f]{4}_")


def read_text(cell: Cell, most: int) -> str:
    """A name or note in any script.  Edges trimmed; odd spaces inside become ordinary ones."""
    text = written(cell)
    check_length(text, most)
    check_characters(text)
    text = "".join(" " if unicodedata.category(c) == "Zs" else c for c in text)
    return unicodedata.normalize("NFC", text)


def read_code(cell: Cell, most: int) -> str:
    """A REF, lot or serial exactly as it stands, edges trimmed.

    Printable ASCII only: a Cyrillic А or a no-break space would make two codes of one.
    """
    text = written(cell)
    check_length(text, most)
    check_characters(text)
    for character in text:
        if not " " <= character <= "~":
            name = unicodedata.name(character, f"U+{ord(character):04X}")
            raise Unfit(Code.LOOK_ALIKE, character=name, value=quoted(text))
    return text


def written(cell: Cell) -> str:
    """What was typed as text; anything that a spreadsheet made something else of is refused."""
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, bool):
        raise Unfit(Code.TRUE_FALSE)
    if isinstance(stood, date | time | timedelta):
        raise Unfit(Code.DATE_FOR_TEXT, value=cell.shown)
    if not isinstance(stood, str):
        raise Unfit(Code.NUMBER_FOR_TEXT, value=cell.shown)
    return plain(stood).strip()


def check_characters(text: str) -> None:
    if ESCAPED.search(text):
        raise Unfit(Code.ESCAPED_CHARACTER, value=quoted(text))
    for character in text:
        if character in BREAKS:
            raise Unfit(Code.LINE_BREAK, value=quoted(text))
        if unicodedata.category(character) in INVISIBLE:
            raise Unfit(Code.CONTROL_CHARACTER, point=f"{ord(character):04X}", value=quoted(text))


def check_length(text: str, most: int) -> None:
    """Before the characters are looked at one by one, which would take its time."""
    if len(text) > most:
        raise Unfit(Code.TOO_LONG, length=f"{len(text):,}", most=f"{most:,}")
