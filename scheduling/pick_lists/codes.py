"""QR codes, drawn as one filled shape, for paper and for screen.

A code whose modules are separate rectangles loses modules to pixel snapping, and modules under
0.4 mm are not read back from a poor print: hence one path, and a size that follows the modules.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import qrcode
from qrcode.constants import ERROR_CORRECT_M

QUIET_ZONE = 4
"""Modules of white on each side (ISO/IEC 18004)."""

MODULE_MM = 0.48


@dataclass(frozen=True, slots=True)
class Code:
    """A QR code: `rows` of dark (True) and light modules, without the quiet zone."""

    text: str
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules on a side, quiet zone included."""
        return len(self.rows) + 2 * QUIET_ZONE

    @property
    def side_mm(self) -> float:
        """The side on paper, quiet zone included."""
        return self.modules * MODULE_MM

    def runs(self) -> Iterator[tuple[int, int, int]]:
        """(x, y, width) of each run of dark modules; the origin is the quiet zone's upper left."""
        for y, row in enumerate(self.rows):
            start: int | None = None
            for x, dark in enumerate((*row, False)):
                if dark and start is None:
                    start = x
                elif not dark and start is not None:
                    yield start + QUIET_ZONE, y + QUIET_ZONE, x - start
                    start = None

    def svg_path(self) -> str:
        """The `d` of one SVG path, in modules; the view box is `0 0 modules modules`."""
        return "".join(f"M{x} {y}h{width}v1h-{width}z" for x, y, width in self.runs())

    def fill(self, canvas: Any, x: float, y: float, side: float) -> None:
        """Draw it as one filled path on a reportlab canvas; (x, y) is the lower left, in points."""
        module = side / self.modules
        path = canvas.beginPath()
        for column, row, width in self.runs():
            path.rect(x + column * module, y + side - (row + 1) * module, width * module, module)
        canvas.setFillGray(0)
        canvas.drawPath(path, stroke=0, fill=1)


def code_of(text: str) -> Code:
    """The QR code of a text, error correction M, the smallest version that holds it.

    About 1 ms each.  ValueError for an empty text.
    """
    if not text:
        raise ValueError("a code needs a text")
    drawing = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    drawing.add_data(text, optimize=8)
    drawing.make(fit=True)
    return Code(text, tuple(tuple(bool(m) for m in row) for row in drawing.get_matrix()))
