"""What stands on the paper, piece by piece: headings, lines to fetch, what is not to hand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from scheduling.coverage.values import Need
from scheduling.pick_lists import ink, words
from scheduling.pick_lists.codes import Code
from scheduling.pick_lists.paper import MM, Block
from scheduling.pick_lists.values import Absent, Line

TICK = 9.5 * MM
DATE = 41 * MM
GAP = 4 * MM
SMALL = 10.0
SMALL_LEADING = 12.4
BIG_LEADING = 19.0
PADDING = 1.8 * MM


@dataclass(frozen=True, slots=True)
class PartHeading:
    """Trays, Implants, Not to hand."""

    text: str
    beside: str = ""
    keeps_next: bool = True
    again: Block | None = None

    @property
    def height(self) -> float:
        return 11 * MM

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        base = top - self.height + 1.6 * MM
        ink.write(canvas, x, base + 0.76 * 15 + 3, [self.text], ink.BOLD, 15, 15)
        room = ink.width_of(self.text, ink.BOLD, 15) + 4 * MM
        ink.write(canvas, x + room, base + 0.76 * 9 + 3, [self.beside], ink.PLAIN, 9, 9)
        ink.rule(canvas, x, base, width, 1.6)


@dataclass(frozen=True, slots=True)
class PlaceHeading:
    """The location that the lines under it are fetched from: white on black, to be found."""

    text: str
    continued: bool = False
    keeps_next: bool = True
    again: Block | None = None

    @property
    def height(self) -> float:
        return 8.4 * MM

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        text = f"{self.text}, continued" if self.continued else self.text
        bar = 6 * MM
        upper = top - 1.6 * MM
        canvas.setFillGray(0)
        room = ink.width_of(text, ink.BOLD, 12) + 6 * MM
        canvas.rect(x, upper - bar, min(room, width), bar, stroke=0, fill=1)
        canvas.setFillGray(1)
        canvas.setFont(ink.BOLD, 12)
        canvas.drawString(x + 3 * MM, upper - bar + 1.8 * MM, text)
        ink.rule(canvas, x, upper - bar, width, 0.8)


@dataclass(frozen=True, slots=True)
class FetchRow:
    """One tray or box: tick box, what it is, use by, QR.  `code_column`: the widest QR's width."""

    line: Line
    code: Code
    code_column: float
    width: float
    place: PlaceHeading
    keeps_next: bool = False

    @property
    def again(self) -> Block | None:
        return replace(self.place, continued=True)

    @property
    def font(self) -> str:
        return ink.BOLD if self.line.need is Need.PLANNED else ink.PLAIN

    @property
    def code_side(self) -> float:
        return self.code.side_mm * MM

    @property
    def words_width(self) -> float:
        return self.width - TICK - DATE - self.code_column - GAP

    def _big(self) -> list[str]:
        return ink.wrap(words.big_words(self.line), self.font, ink.BIG, self.words_width)

    def _note(self) -> list[str]:
        note = self.line.note
        return ink.wrap(f"! {note}", ink.BOLD, SMALL, self.words_width) if note else []

    def _small(self) -> list[str]:
        said = words.identity(self.line)
        return ink.wrap(said, self.font, SMALL, self.words_width) if said else []

    @property
    def height(self) -> float:
        text = SMALL_LEADING + BIG_LEADING * len(self._big())
        text += SMALL_LEADING * (len(self._small()) + len(self._note()))
        return max(text + 2 * PADDING, self.code_side + 0.6 * MM)

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        line = self.line
        ink.tick_box(canvas, x + 0.6, top - PADDING - 3, 6.5 * MM)
        left = x + TICK
        below = top - PADDING
        heading = words.heading(line)
        size = ink.fitting(heading, self.font, SMALL, self.words_width)
        below = ink.write(canvas, left, below, [heading], self.font, size, SMALL_LEADING)
        below = ink.write(canvas, left, below, self._big(), self.font, ink.BIG, BIG_LEADING)
        below = ink.write(canvas, left, below, self._small(), self.font, SMALL, SMALL_LEADING)
        ink.write(canvas, left, below, self._note(), ink.BOLD, SMALL, SMALL_LEADING)
        label, date = words.use_by(line)
        date_left = x + width - self.code_column - DATE
        below = ink.write(
            canvas, date_left, top - PADDING, [label], ink.PLAIN, SMALL, SMALL_LEADING
        )
        ink.write(canvas, date_left, below, [date], self.font, ink.BIG, BIG_LEADING)
        across = (self.height - self.code_side) / 2
        self.code.fill(
            canvas, x + width - self.code_side, top - across - self.code_side, self.code_side
        )
        ink.rule(canvas, x, top - self.height, width, 0.4)


@dataclass(frozen=True, slots=True)
class AbsentRow:
    """Something the case wants that cannot be fetched, and why."""

    absent: Absent
    width: float
    keeps_next: bool = False
    again: Block | None = None

    @property
    def font(self) -> str:
        return ink.BOLD if self.absent.need is Need.PLANNED else ink.PLAIN

    @property
    def state_width(self) -> float:
        return DATE + 16 * MM

    def _big(self) -> list[str]:
        room = self.width - self.state_width - 3 * MM
        return ink.wrap(self.absent.what, self.font, ink.BIG, room)

    def _state(self) -> list[str]:
        return ink.wrap(words.absence(self.absent), self.font, ink.BIG, self.state_width)

    def _small(self) -> list[str]:
        room = self.width - 3 * MM
        first = f"{self.absent.item}  ·  {words.need(self.absent.need)}".lstrip(" ·")
        lines = ink.wrap(first, ink.PLAIN, SMALL, room)
        for reason in self.absent.because:
            lines += ink.wrap(words.capital(reason), ink.PLAIN, SMALL, room)
        return lines

    @property
    def height(self) -> float:
        big = max(len(self._big()), len(self._state()))
        return BIG_LEADING * big + SMALL_LEADING * len(self._small()) + 2 * PADDING

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        below = top - PADDING
        ink.write(canvas, x, below, self._big(), self.font, ink.BIG, BIG_LEADING)
        right = x + width - self.state_width
        ink.write(canvas, right, below, self._state(), self.font, ink.BIG, BIG_LEADING)
        below -= BIG_LEADING * max(len(self._big()), len(self._state()))
        ink.write(canvas, x, below, self._small(), ink.PLAIN, SMALL, SMALL_LEADING)
        ink.rule(canvas, x, top - self.height, width, 0.4)


@dataclass(frozen=True, slots=True)
class Remark:
    """A sentence in the column: a fault of the plan, or that there is nothing here."""

    text: str
    width: float
    keeps_next: bool = False
    again: Block | None = None

    def _lines(self) -> list[str]:
        return ink.wrap(self.text, ink.PLAIN, 11, self.width)

    @property
    def height(self) -> float:
        return 14 * len(self._lines()) + 1.4 * PADDING

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        ink.write(canvas, x, top - 0.7 * PADDING, self._lines(), ink.PLAIN, 11, 14)
