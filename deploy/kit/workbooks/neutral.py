"""Texts that a spreadsheet could take for a formula, made harmless, and back.

Exports put an apostrophe in front of what begins with one of these characters (or with them after
spaces and apostrophes); reading takes one such apostrophe away, so nothing changes on the way
round.  In a cell of type text it would do no harm, but people save workbooks as CSV.
"""

from __future__ import annotations

STARTERS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""The full-width ones become plain on some systems."""
MARK = "'"


def could_act(text: str) -> bool:
    bare = text.lstrip(f" \xa0{MARK}")
    return bare.startswith(STARTERS)


def neutral(text: str) -> str:
    return MARK + text if could_act(text) else text


def plain(text: str) -> str:
    """The text that `neutral` was given."""
    return text[1:] if text.startswith(MARK) and could_act(text) else text
