"""Sheets of paper, and how a column of blocks breaks over them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Protocol

from reportlab.lib.pagesizes import A4, LETTER

MM = 72 / 25.4
"""Points in a millimetre."""

MARGIN = 12 * MM


class Paper(StrEnum):
    A4 = "a4"
    LETTER = "letter"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in points."""
        width, height = A4 if self is Paper.A4 else LETTER
        return float(width), float(height)


class Block(Protocol):
    """Something of a fixed height.  `keeps_next`: never the last thing on a page.

    `again`: what stands over it once more when it opens a page in the middle of its group.
    """

    @property
    def height(self) -> float: ...
    @property
    def keeps_next(self) -> bool: ...
    @property
    def again(self) -> Block | None: ...

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        """Draw it downwards from `top`."""


@dataclass(frozen=True, slots=True)
class Placed:
    block: Block
    top: float
    """Points below the upper edge of the room."""


def paginate(blocks: Sequence[Block], room: float) -> list[list[Placed]]:
    """Break the column into pages of `room` points.

    A heading goes to the next page with what it heads (together they must fit a page).  A block
    that is higher than a page gets a page to itself.  No blocks: one empty page.
    """
    pages: list[list[Placed]] = [[]]
    used = 0.0
    for index, block in enumerate(blocks):
        if pages[-1] and used + _height_with_next(blocks, index) > room:
            pages.append([])
            used = 0.0
            if block.again is not None:
                pages[-1].append(Placed(block.again, 0.0))
                used = block.again.height
        pages[-1].append(Placed(block, used))
        used += block.height
    return pages


def _height_with_next(blocks: Sequence[Block], index: int) -> float:
    height = blocks[index].height
    while blocks[index].keeps_next and index + 1 < len(blocks):
        index += 1
        height += blocks[index].height
    return height
