"""The label of a pack, 100 × 50 mm: what it is, what it lacks, and a code that finds it again.

Black on white.  What it lacks is as large as what it is: a shortage that is not read is not said.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from scheduling.pick_lists import ink
from scheduling.pick_lists.codes import code_of
from scheduling.pick_lists.paper import MM
from scheduling.pick_lists.words import day_and_clock

WIDTH, HEIGHT = 100 * MM, 50 * MM
EDGE = 2.5 * MM
LEAST = 7.0
"""Points: no shortage is printed smaller; what does not fit is counted."""


@dataclass(frozen=True, slots=True)
class Label:
    """`shortages`: in words, with the quantity.  `link`: what the QR code says; `asset`: the same
    for people.  Moments are local."""

    tray: str
    configuration: str
    pack: int
    link: str
    asset: str
    packed_at: datetime
    packed_by: str
    sheet: int
    shortages: tuple[str, ...] = ()
    weight: str = ""
    warning: str = ""
    indicator: str = ""


def label_pdf(label: Label) -> bytes:
    """One page of 100 × 50 mm."""
    file = BytesIO()
    canvas = Canvas(file, pagesize=(WIDTH, HEIGHT), pageCompression=1)
    canvas.setTitle(f"Label {label.tray} pack {label.pack}")
    canvas.setCreator("Muster")
    code = code_of(label.link)
    side = code.side_mm * MM
    code.fill(canvas, WIDTH - side, HEIGHT - side, side)
    canvas.setFont(ink.PLAIN, ink.fitting(label.asset, ink.PLAIN, 5.5, side - 2 * MM))
    canvas.drawCentredString(WIDTH - side / 2, HEIGHT - side - 2, label.asset)
    room = WIDTH - side - 2 * EDGE
    size = ink.fitting(label.tray, ink.BOLD, 24, room)
    below = ink.write(canvas, EDGE, HEIGHT - EDGE, [label.tray], ink.BOLD, size, size * 1.15)
    name = ink.wrap(label.configuration, ink.PLAIN, 10, room)[:2]
    below = ink.write(canvas, EDGE, below, name, ink.PLAIN, 10, 12)
    by = f"Pack {label.pack}, {day_and_clock(label.packed_at)}, {label.packed_by}"
    size = ink.fitting(by, ink.PLAIN, 8, room)
    below = ink.write(canvas, EDGE, below - 2, [by], ink.PLAIN, size, 10)
    said = [f"Count sheet {label.sheet}"]
    said += [label.weight] if label.weight else []
    said += [f"indicator {label.indicator}"] if label.indicator else []
    small = " · ".join(said)
    below = ink.write(canvas, EDGE, below, ink.wrap(small, ink.PLAIN, 7, room)[:2], ink.PLAIN, 7, 9)
    if label.warning:
        ink.write(canvas, EDGE, below, [f"HEAVY: {label.warning}"], ink.BOLD, 7, 9)
    _shortages(canvas, label, min(below - 9, HEIGHT - side - 8))
    canvas.setFont(ink.PLAIN, 6)
    canvas.drawString(EDGE, EDGE, "Sterile only after its load was released. Check the indicator.")
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def _shortages(canvas: Canvas, label: Label, top: float) -> None:
    width, floor = WIDTH - 2 * EDGE, EDGE + 8
    ink.rule(canvas, EDGE, top, width, 1)
    if not label.shortages:
        ink.write(canvas, EDGE, top - 3, ["COMPLETE"], ink.BOLD, 12, 14)
        return
    text = f"LACKS {'; '.join(label.shortages)}"
    size = 12.0
    lines = ink.wrap(text, ink.BOLD, size, width)
    while len(lines) * size * 1.15 > top - 3 - floor and size > LEAST:
        size -= 0.5
        lines = ink.wrap(text, ink.BOLD, size, width)
    fits = max(1, int((top - 3 - floor) // (size * 1.15)))
    if len(lines) > fits:
        # Never cut in silence: the count says that there is more, the sheet says what.
        number = len(label.shortages)
        lines = [*lines[: fits - 1], f"… {number} lines in all: see the count sheet"]
    ink.write(canvas, EDGE, top - 3, lines, ink.BOLD, size, size * 1.15)
