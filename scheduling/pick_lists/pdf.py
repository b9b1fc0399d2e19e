"""The pick list on paper: A4 or US Letter, black on white, each page able to stand alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from scheduling import cautions
from scheduling.pick_lists import ink, words
from scheduling.pick_lists.blocks import AbsentRow, FetchRow, PartHeading, PlaceHeading, Remark
from scheduling.pick_lists.codes import Code, code_of
from scheduling.pick_lists.paper import MARGIN, MM, Block, Paper, Placed, paginate
from scheduling.pick_lists.values import Line, Printing, Section, by_location

HEAD = 38 * MM
FOOT = 17 * MM
WHICH = 60 * MM


def pick_list_pdf(printing: Printing, paper: Paper = Paper.A4) -> bytes:
    """The printing as a PDF file.  About 2 ms a line, most of it the codes."""
    width, height = paper.size
    room = height - 2 * MARGIN - HEAD - FOOT
    pages = [
        _Page(section, column)
        for section in printing.content.sections
        for column in paginate(list(_blocks(section, width - 2 * MARGIN)), room)
    ]
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), pageCompression=1)
    canvas.setTitle(f"Pick list {printing.code} version {printing.number}")
    canvas.setCreator("Muster")
    frame = _Frame(printing, code_of(printing.link), width, height)
    for number, page in enumerate(pages, start=1):
        frame.draw_head(canvas, page.section, number, len(pages))
        frame.draw_foot(canvas)
        for placed in page.column:
            placed.block.draw(
                canvas, MARGIN, height - MARGIN - HEAD - placed.top, width - 2 * MARGIN
            )
        canvas.showPage()
    canvas.save()
    return file.getvalue()


@dataclass(frozen=True, slots=True)
class _Page:
    section: Section
    column: list[Placed]


def _blocks(section: Section, width: float) -> Iterator[Block]:
    """Not to hand first: whoever walks with the list must know before walking."""
    if section.absent or section.unsettled:
        yield PartHeading("Not to hand", "wanted by this case, and not on this list to fetch")
        for text in section.unsettled:
            yield Remark(words.capital(text), width)
        for absent in section.absent:
            yield AbsentRow(absent, width)
    codes = {line: code_of(line.link) for line in section.lines}
    column = max((code.side_mm * MM for code in codes.values()), default=0.0)
    for title, lines in (("Trays", section.trays), ("Implants", section.boxes)):
        yield from _part(title, lines, codes, column, width)


def _part(
    title: str, lines: tuple[Line, ...], codes: dict[Line, Code], column: float, width: float
) -> Iterator[Block]:
    count = f"{len(lines)} to fetch" if lines else ""
    yield PartHeading(title, count)
    if not lines:
        yield Remark("None to fetch.", width)
    for location, group in by_location(lines):
        place = PlaceHeading(location)
        yield place
        for line in group:
            yield FetchRow(line, codes[line], column, width, place)


@dataclass(frozen=True, slots=True)
class _Frame:
    """What is the same on every page but for the case and the page's number."""

    printing: Printing
    code: Code
    width: float
    height: float

    def draw_head(self, canvas: Any, section: Section, page: int, pages: int) -> None:
        top, left = self.height - MARGIN, MARGIN
        side = 27 * MM
        self.code.fill(canvas, left - 2 * MM, top - side + 2 * MM, side)
        text = left + side + 1 * MM
        right = self.width - MARGIN
        room = right - text - WHICH
        title = f"Case {section.case}"
        size = ink.fitting(title, ink.BOLD, 20, room)
        below = ink.write(canvas, text, top, [title], ink.BOLD, size, 24)
        for line, font, wanted, leading in (
            (words.place_and_side(section), ink.PLAIN, 10.5, 14),
            (words.start(section), ink.PLAIN, 10.5, 14.5),
            (words.capital(words.needed_by(section)), ink.BOLD, 12, 18),
        ):
            size = ink.fitting(line, font, wanted, room)
            below = ink.write(canvas, text, below, [line], font, size, leading)
        verdict = section.verdict.upper()
        ink.write(canvas, text, below, [verdict], ink.BOLD, ink.BIG, ink.BIG)
        beside = text + ink.width_of(verdict, ink.BOLD, ink.BIG) + 3 * MM
        ink.verdict_shape(canvas, section.verdict, beside, below + 1, 14)
        self._draw_which(canvas, right, top, page, pages)
        under = top - side - 5 * MM
        ink.write(canvas, left, under, [words.ASK_THE_CODE], ink.BOLD, 9.5, 9.5)
        ink.rule(canvas, left, top - HEAD + 0.8 * MM, self.width - 2 * MARGIN, 1.6)

    def _draw_which(self, canvas: Any, right: float, top: float, page: int, pages: int) -> None:
        printing = self.printing
        canvas.setFillGray(0)
        for offset, size, font, text in (
            (0, 12, ink.BOLD, f"Page {page} of {pages}"),
            (19, 10, ink.PLAIN, f"Pick list {printing.code}"),
            (32, 10, ink.BOLD, f"Version {printing.number}"),
            (45, 8.5, ink.PLAIN, f"As of {words.day_and_clock(printing.as_of)}"),
            (56, 8.5, ink.PLAIN, f"Printed {words.day_and_clock(printing.printed_at)}"),
            (67, 8.5, ink.PLAIN, printing.content.title if printing.content.is_day else ""),
        ):
            canvas.setFont(font, size)
            canvas.drawRightString(right, top - 0.76 * size - offset, text)

    def draw_foot(self, canvas: Any) -> None:
        width = self.width - 2 * MARGIN
        top = MARGIN + FOOT - 3 * MM
        ink.rule(canvas, MARGIN, top, width, 0.8)
        below = ink.write(
            canvas, MARGIN, top - 1.5 * MM, [cautions.LOGISTICS_AID], ink.BOLD, 8.5, 11.5
        )
        lines = ink.wrap(cautions.DECISION_SUPPORT, ink.PLAIN, 7, width)
        ink.write(canvas, MARGIN, below, lines, ink.PLAIN, 7, 9)
        if not self.printing.clock_is_real:
            ink.write(canvas, MARGIN, MARGIN + 1 * MM, [cautions.INVENTED], ink.BOLD, 7, 9)
        canvas.setFont(ink.PLAIN, 7)
        canvas.drawRightString(self.width - MARGIN, MARGIN - 1 * MM, self.printing.site)
