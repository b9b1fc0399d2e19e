"""Rectangles of cells, for merged ones."""

from __future__ import annotations

import re
from dataclasses import dataclass

from openpyxl.utils import column_index_from_string, get_column_letter

REF = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6}):([A-Z]{1,3})([1-9]\d{0,6})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Area:
    """From the top left cell to the bottom right one, both within; counted from 1."""

    top: int
    left: int
    bottom: int
    right: int

    def __str__(self) -> str:
        return (
            f"{get_column_letter(self.left)}{self.top}:{get_column_letter(self.right)}{self.bottom}"
        )

    def within(self, last_row: int, last_column: int) -> Area | None:
        """The part inside the table; None where that is nothing."""
        if self.top > last_row or self.left > last_column:
            return None
        return Area(self.top, self.left, min(self.bottom, last_row), min(self.right, last_column))

    @property
    def size(self) -> int:
        return (self.bottom - self.top + 1) * (self.right - self.left + 1)


def area_of(ref: str) -> Area | None:
    """`B2:C7` as an Area; None for anything else."""
    match = REF.fullmatch(ref)
    if match is None:
        return None
    left, right = column_index_from_string(match[1]), column_index_from_string(match[3])
    top, bottom = int(match[2]), int(match[4])
    return Area(top, left, bottom, right) if top <= bottom and left <= right else None
