"""The implant record on paper, with room to stick each box's own label beside its line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from scheduling import cautions
from scheduling.pick_lists import ink, words
from scheduling.pick_lists.blocks import PartHeading, Remark
from scheduling.pick_lists.paper import MARGIN, MM, Block, Paper, paginate
from scheduling.theatre.record import CaseRecord, RecordedBox

HEAD = 34 * MM
FOOT = 15 * MM
LABEL_WIDTH, LABEL_HEIGHT = 74 * MM, 42 * MM
"""Room for the peel-off label of a box."""


@dataclass(frozen=True, slots=True)
class BoxRow:
    """One box: what it is in words, what names it, and the room for its label."""

    box: RecordedBox
    width: float
    keeps_next: bool = False
    again: Block | None = None

    @property
    def room(self) -> float:
        return self.width - LABEL_WIDTH - 5 * MM

    def _lines(self) -> Iterator[tuple[str, str, float, float]]:
        """(text, font, size, leading) from the top."""
        box = self.box
        for line in ink.wrap(words.capital(box.words), ink.BOLD, ink.BIG, self.room):
            yield line, ink.BOLD, ink.BIG, 19
        use_by = f"use by {words.full_date(box.use_by)}" if box.use_by else "no use-by date"
        yield use_by, ink.BOLD, ink.BIG, 20
        if not box.received:
            yield "NEVER RECEIVED HERE", ink.BOLD, 11, 15
        facts = [
            f"REF {box.ref}  ·  LOT {box.lot or 'not recorded'}"
            + (f"  ·  SN {box.serial}" if box.serial else ""),
            f"UDI {box.udi or 'not recorded'}",
            ", ".join(part for part in (box.name, box.maker) if part) or "maker not recorded",
            ", ".join(part for part in (box.maker_address, box.maker_website) if part),
            f"{words.clock(box.at)}, {box.by}"
            + (f" and {box.second}" if box.second else "")
            + (f", box {box.code}" if box.received else ""),
            box.reason,
            f"opened after a STOP: {box.override}" if box.override else "",
        ]
        for fact in facts:
            for line in ink.wrap(fact, ink.PLAIN, 9.5, self.room) if fact else ():
                yield line, ink.PLAIN, 9.5, 12.5

    @property
    def height(self) -> float:
        text = sum(leading for *_, leading in self._lines())
        return float(max(text, LABEL_HEIGHT)) + 5 * MM

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        below = top - 2 * MM
        for text, font, size, leading in self._lines():
            below = ink.write(canvas, x, below, [text], font, size, leading)
        left = x + width - LABEL_WIDTH
        canvas.setDash(2, 2)
        ink.frame(canvas, left, top - 2 * MM, LABEL_WIDTH, LABEL_HEIGHT)
        canvas.setDash()
        canvas.setFillGray(0.45)
        canvas.setFont(ink.PLAIN, 8)
        canvas.drawString(left + 2 * MM, top - 6 * MM, "label of the box")
        ink.rule(canvas, x, top - self.height, width, 0.4)


def record_pdf(record: CaseRecord, paper: Paper = Paper.A4) -> bytes:
    """The record as a PDF file, each page able to stand alone."""
    width, height = paper.size
    inner = width - 2 * MARGIN
    pages = paginate(list(_blocks(record, inner)), height - 2 * MARGIN - HEAD - FOOT)
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), pageCompression=1)
    canvas.setTitle(f"Implant record, case {record.ref}")
    canvas.setCreator("Muster")
    for number, page in enumerate(pages, start=1):
        _draw_head(canvas, record, width, height, number, len(pages))
        _draw_foot(canvas, record, width)
        for placed in page:
            placed.block.draw(canvas, MARGIN, height - MARGIN - HEAD - placed.top, inner)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _blocks(record: CaseRecord, width: float) -> Iterator[Block]:
    if record.unsaid:
        yield PartHeading("Not complete", "opened, and not said whether implanted or wasted")
        for box in record.unsaid:
            yield Remark(box, width)
    for title, boxes, none in (
        ("Implanted", record.implanted, "Nothing is recorded as implanted."),
        ("Wasted", record.wasted, "Nothing is recorded as wasted."),
    ):
        yield PartHeading(title, f"{len(boxes)}" if boxes else "")
        if not boxes:
            yield Remark(none, width)
        for each in boxes:
            yield BoxRow(each, width)
    yield PartHeading("Trays", "in theatre for this case")
    yield Remark(", ".join(record.trays) or "No tray was scanned in theatre.", width)
    for code, why in record.stopped:
        yield Remark(f"Tray {code} was used after a STOP: {why}", width)


def _draw_head(
    canvas: Any, record: CaseRecord, width: float, height: float, page: int, pages: int
) -> None:
    top = height - MARGIN
    left, right = MARGIN, width - MARGIN
    side = f", {record.side.upper()}" if record.side else ""
    title = f"Implant record, case {record.ref}{side}"
    size = ink.fitting(title, ink.BOLD, 20, width - 2 * MARGIN - 40 * MM)
    below = ink.write(canvas, left, top, [title], ink.BOLD, size, 26)
    where = ", ".join(part for part in (words.day(record.day), record.theatre) if part)
    below = ink.write(canvas, left, below, [where], ink.PLAIN, 11, 15)
    who = ", ".join(part for part in (record.procedure, record.surgeon) if part)
    ink.write(canvas, left, below, ink.wrap(who, ink.PLAIN, 11, right - left), ink.PLAIN, 11, 15)
    canvas.setFont(ink.BOLD, 12)
    canvas.drawRightString(right, top - 9, f"Page {page} of {pages}")
    canvas.setFont(ink.PLAIN, 8.5)
    canvas.drawRightString(right, top - 22, f"Case {record.status}")
    canvas.drawRightString(right, top - 33, f"As of {words.day_and_clock(record.as_of)}")
    ink.rule(canvas, left, top - HEAD + 3 * MM, width - 2 * MARGIN, 1.6)


def _draw_foot(canvas: Any, record: CaseRecord, width: float) -> None:
    top = MARGIN + FOOT - 4 * MM
    ink.rule(canvas, MARGIN, top, width - 2 * MARGIN, 0.8)
    said = "No patient data: a case reference only. Stick each label beside its own line."
    below = ink.write(canvas, MARGIN, top - 1.5 * MM, [said], ink.BOLD, 8.5, 12)
    if not record.clock_is_real:
        ink.write(canvas, MARGIN, below, [cautions.INVENTED], ink.BOLD, 7, 9)
    canvas.setFont(ink.PLAIN, 7)
    canvas.drawRightString(width - MARGIN, MARGIN - 1 * MM, record.site)
