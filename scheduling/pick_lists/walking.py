"""Walking order: locations as a person passes them, A-2 before A-10."""

from __future__ import annotations

import re

from scheduling.coverage.values import Need
from scheduling.pick_lists.values import Line

Key = tuple[tuple[int, int, str], ...]

_NEEDS = list(Need)


def natural(text: str) -> Key:
    """A sort key that reads runs of digits as numbers; an empty text comes last.

    >>> sorted(["A-10", "", "A-2"], key=natural)
    ['A-2', 'A-10', '']
    """
    if not text:
        return ((2, 0, ""),)
    parts = re.split(r"([0-9]+)", text.casefold())
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts if p)


def walking(line: Line) -> tuple[Key, int, Key, Key]:
    """By location; at one location planned first, then by REF and code."""
    return (
        natural(line.location),
        _NEEDS.index(line.need),
        natural(line.item),
        natural(line.code),
    )
