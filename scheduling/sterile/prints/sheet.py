"""A printed sheet of rows: count sheet, load list, retrieval list, handover.  A4 or US Letter.

Each page stands alone: what it is, which page of how many, as of when, printed when.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from scheduling import cautions
from scheduling.pick_lists import ink
from scheduling.pick_lists.blocks import PartHeading, Remark
from scheduling.pick_lists.codes import Code, code_of
from scheduling.pick_lists.paper import MARGIN, MM, Block, Paper, paginate
from scheduling.pick_lists.words import day_and_clock

HEAD = 32 * MM
FOOT = 12 * MM
SIZE = 11.0
LEADING = 13.5
PADDING = 1.6 * MM
TICK = 6 * MM


@dataclass(frozen=True, slots=True)
class Part:
    """Rows under a heading.  `columns`: (title, share of the width); `ticks`: titles of the boxes
    to tick that each row begins with."""

    title: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]
    ticks: tuple[str, ...] = ()
    none: str = "None."
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """`under`: lines beneath the title.  `link`: the code in the head, empty for none.
    `signatures`: lines to be signed by hand at the end.  Moments are local."""

    title: str
    site: str
    as_of: datetime
    under: tuple[str, ...] = ()
    link: str = ""
    parts: tuple[Part, ...] = ()
    signatures: tuple[str, ...] = ()
    clock_is_real: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a part; its first cell is bold."""

    cells: tuple[str, ...]
    part: Part
    width: float
    keeps_next: bool = False
    again: Block | None = None
    lines: list[list[str]] = field(default_factory=list, init=False)

    def __post_init__(self) -> None:
        room = self.width - _ticks_width(self.part)
        for number, (cell, (_, share)) in enumerate(
            zip(self.cells, self.part.columns, strict=True)
        ):
            font = ink.PLAIN if number else ink.BOLD
            self.lines.append(ink.wrap(cell, font, SIZE, room * share - 2 * MM))

    @property
    def height(self) -> float:
        text = LEADING * max(len(lines) for lines in self.lines)
        return float(max(text, TICK if self.part.ticks else 0) + 2 * PADDING)

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        at = x
        for _ in self.part.ticks:
            ink.tick_box(canvas, at, top - PADDING, TICK)
            at += TICK + 9 * MM
        room = width - _ticks_width(self.part)
        for number, (lines, (_, share)) in enumerate(
            zip(self.lines, self.part.columns, strict=True)
        ):
            font = ink.PLAIN if number else ink.BOLD
            ink.write(canvas, at, top - PADDING, lines, font, SIZE, LEADING)
            at += room * share
        ink.rule(canvas, x, top - self.height, width, 0.4)


@dataclass(frozen=True, slots=True)
class Heads:
    """The titles of a part's columns, again on each page that it goes over to."""

    part: Part
    keeps_next: bool = True
    again: Block | None = None
    height: float = 5 * MM

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        at = x
        for tick in self.part.ticks:
            ink.write(canvas, at, top, [tick], ink.PLAIN, 7.5, 9)
            at += TICK + 9 * MM
        for title, share in self.part.columns:
            ink.write(canvas, at, top, [title], ink.PLAIN, 8, 9)
            at += (width - _ticks_width(self.part)) * share


@dataclass(frozen=True, slots=True)
class Signature:
    """A line to sign on."""

    text: str
    keeps_next: bool = False
    again: Block | None = None
    height: float = 15 * MM

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        ink.rule(canvas, x, top - 11 * MM, width * 0.6, 0.8)
        ink.write(canvas, x, top - 11.5 * MM, [self.text], ink.PLAIN, 8, 9)


def _ticks_width(part: Part) -> float:
    return float(len(part.ticks) * (TICK + 9 * MM))


def _blocks(sheet: Sheet, width: float) -> Iterator[Block]:
    for part in sheet.parts:
        yield PartHeading(part.title, part.beside)
        if not part.rows:
            yield Remark(part.none, width)
            continue
        heads = Heads(part)
        yield heads
        for cells in part.rows:
            yield Row(cells, part, width, again=heads)
    for text in sheet.signatures:
        yield Signature(text)


def sheet_pdf(sheet: Sheet, paper: Paper = Paper.A4) -> bytes:
    width, height = paper.size
    column = width - 2 * MARGIN
    pages = paginate(list(_blocks(sheet, column)), height - 2 * MARGIN - HEAD - FOOT)
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), pageCompression=1)
    canvas.setTitle(sheet.title)
    canvas.setCreator("Muster")
    code = code_of(sheet.link) if sheet.link else None
    for number, page in enumerate(pages, start=1):
        _frame(canvas, sheet, code, width, height, f"Page {number} of {len(pages)}")
        for placed in page:
            placed.block.draw(canvas, MARGIN, height - MARGIN - HEAD - placed.top, column)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _frame(
    canvas: Any, sheet: Sheet, code: Code | None, width: float, height: float, page: str
) -> None:
    top, left, right = height - MARGIN, MARGIN, width - MARGIN
    if code is not None:
        side = 26 * MM
        code.fill(canvas, left - 2 * MM, top - side + 2 * MM, side)
        left += side
    room = right - left - 48 * MM
    size = ink.fitting(sheet.title, ink.BOLD, 20, room)
    below = ink.write(canvas, left, top, [sheet.title], ink.BOLD, size, 24)
    for line in sheet.under:
        size = ink.fitting(line, ink.PLAIN, 10.5, room)
        below = ink.write(canvas, left, below, [line], ink.PLAIN, size, 14)
    canvas.setFillGray(0)
    for offset, points, font, text in (
        (0, 12, ink.BOLD, page),
        (20, 8.5, ink.PLAIN, f"As of {day_and_clock(sheet.as_of)}"),
        (32, 8.5, ink.PLAIN, f"Printed {day_and_clock(sheet.as_of)}"),
        (44, 8.5, ink.PLAIN, sheet.site),
    ):
        canvas.setFont(font, points)
        canvas.drawRightString(right, top - 0.76 * points - offset, text)
    ink.rule(canvas, MARGIN, height - MARGIN - HEAD + 2 * MM, width - 2 * MARGIN, 1.6)
    foot = MARGIN + FOOT - 4 * MM
    ink.rule(canvas, MARGIN, foot, width - 2 * MARGIN, 0.8)
    ink.write(canvas, MARGIN, foot - 4, [cautions.LOGISTICS_AID], ink.BOLD, 8, 10)
    if not sheet.clock_is_real:
        ink.write(canvas, MARGIN, foot - 14, [cautions.INVENTED], ink.BOLD, 7, 9)
