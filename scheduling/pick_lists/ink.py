"""Type and marks of the print: embedded fonts, wrapped text, tick boxes, verdict shapes.

One ink.  What differs between verdicts is the word, the outline and the fill, as on the screens.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from scheduling.coverage.report import Verdict

PLAIN, BOLD = "Vera", "VeraBd"
BIG = 16.0
"""Points: size, offset, length and use-by are never printed smaller."""

for _name in (PLAIN, BOLD):
    # Both come with reportlab and are embedded, so that every printer shows the same letters;
    # they have the true minus sign, which the printers' own fonts lack.
    pdfmetrics.registerFont(TTFont(_name, f"{_name}.ttf"))


def width_of(text: str, font: str, size: float) -> float:
    """Points."""
    return float(pdfmetrics.stringWidth(text, font, size))


def wrap(text: str, font: str, size: float, width: float) -> list[str]:
    """The text in lines of at most `width` points; a word that is too long is cut, never lost."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if width_of(longer, font, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while width_of(line, font, size) > width:
            cut = len(line) - 1
            while cut > 1 and width_of(line[:cut], font, size) > width:
                cut -= 1
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line]


def fitting(text: str, font: str, size: float, width: float) -> float:
    """The size at which the text fits in one line: `size`, or smaller where it must be."""
    return min(size, size * width / max(width_of(text, font, size), 1.0))


def write(
    canvas: Any, x: float, top: float, lines: list[str], font: str, size: float, leading: float
) -> float:
    """Write lines downwards from `top`; returns where the next line would begin."""
    canvas.setFillGray(0)
    for line in lines:
        canvas.setFont(font, size)
        canvas.drawString(x, top - 0.76 * size, line)
        top -= leading
    return top


def tick_box(canvas: Any, x: float, top: float, side: float) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(1.2)
    canvas.rect(x, top - side, side, side)


def frame(canvas: Any, x: float, top: float, width: float, height: float) -> None:
    canvas.setStrokeGray(0.45)
    canvas.setLineWidth(0.8)
    canvas.rect(x, top - height, width, height)


def rule(canvas: Any, x: float, y: float, width: float, thickness: float = 0.5) -> None:
    canvas.setStrokeGray(0)
    canvas.setLineWidth(thickness)
    canvas.line(x, y, x + width, y)


# -- the verdict's shape, in a field of 28 × 20 with the origin at the upper left ---------------


def _packed_box(canvas: Any) -> None:
    canvas.setLineWidth(1.1)
    for y in (5, 9, 13):
        canvas.line(3, y + 1, 25, y + 1)
    canvas.setLineWidth(1.8)
    canvas.roundRect(2, 2, 24, 16, 2)


def _box_without_top_layer(canvas: Any) -> None:
    canvas.setLineWidth(1.1)
    for y in (10, 13, 16):
        canvas.line(3, y, 25, y)
    canvas.setLineWidth(1.8)
    _outline(canvas, [(2, 2), (2, 18), (26, 18), (26, 2)], closed=False)


def _leaning_box(canvas: Any) -> None:
    corners = [(10.0, 2.0), (26.0, 2.0), (18.0, 18.0), (2.0, 18.0)]
    canvas.saveState()
    canvas.clipPath(_path(canvas, corners, closed=True), stroke=0, fill=0)
    canvas.setLineWidth(1.8)
    for x in range(-16, 44, 5):
        canvas.line(x, 2, x + 16, 18)
    canvas.restoreState()
    canvas.setLineWidth(1.8)
    _outline(canvas, corners)


def _cloud_of_dots(canvas: Any) -> None:
    for x in (10, 14, 18):
        for y in (6, 10, 14):
            canvas.circle(x, y, 1.0, stroke=0, fill=1)
    canvas.setLineWidth(1.8)
    canvas.setDash(3.2, 2.1)
    canvas.circle(14, 10, 8.4)
    canvas.setDash()


def _broken_block(canvas: Any) -> None:
    for corners in (
        [(2, 1.5), (14, 1.5), (9.5, 10), (14, 18.5), (2, 18.5)],
        [(18, 1.5), (26, 1.5), (26, 18.5), (18, 18.5), (13.5, 10)],
    ):
        canvas.drawPath(_path(canvas, corners, closed=True), stroke=0, fill=1)


def _path(canvas: Any, corners: list[tuple[float, float]], *, closed: bool) -> Any:
    path = canvas.beginPath()
    path.moveTo(*corners[0])
    for corner in corners[1:]:
        path.lineTo(*corner)
    if closed:
        path.close()
    return path


def _outline(canvas: Any, corners: list[tuple[float, float]], *, closed: bool = True) -> None:
    canvas.drawPath(_path(canvas, corners, closed=closed), stroke=1, fill=0)


_SHAPES: Mapping[Verdict, Callable[[Any], None]] = {
    Verdict.COVERED: _packed_box,
    Verdict.NO_SPARE: _box_without_top_layer,
    Verdict.AT_RISK: _leaning_box,
    Verdict.NOT_KNOWN: _cloud_of_dots,
    Verdict.NOT_COVERED: _broken_block,
}


def verdict_shape(canvas: Any, verdict: Verdict, x: float, top: float, height: float) -> None:
    """The verdict's own shape beside its word, `height` points high and 1.4 times as wide."""
    canvas.saveState()
    canvas.translate(x, top)
    canvas.scale(height / 20, -height / 20)
    canvas.setStrokeGray(0)
    canvas.setFillGray(0)
    _SHAPES[verdict](canvas)
    canvas.restoreState()
