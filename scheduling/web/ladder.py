"""The size ladder: a picture of one component's sizes, drawn as rungs, largest on top.

Columns are offsets (times lengths, where the plan's window spans more than one); every cell
shows the boxes of that size by what may be done with them.  Pure geometry: numbers and words in,
numbers and words out; `_ladder.html` draws it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from deploy.kit.attributes import Value, number_in_words
from scheduling.coverage.values import Implant, Unit
from scheduling.web.arrangement import Promise

Rung = tuple[Value, ...]


class BoxState(StrEnum):
    """What may be done with a box, for one case.  The order in which they are drawn."""

    HELD = "held"
    FREE = "free"
    SHORT_DATED = "short-dated"
    ON_ORDER = "on-order"
    PROMISED = "promised"
    NOT_USABLE = "not-usable"


STATE_WORDS: Mapping[BoxState, str] = {
    BoxState.HELD: "held for this case",
    BoxState.FREE: "free on the shelf",
    BoxState.SHORT_DATED: "free, short-dated",
    BoxState.ON_ORDER: "on order, not here yet",
    BoxState.PROMISED: "promised to another case",
    BoxState.NOT_USABLE: "on hold, or out of date for this case",
}

GUTTER, TOP, COLUMN, ROW = 52, 46, 104, 34
BOX_WIDTH, BOX_HEIGHT, BOX_STEP = 14, 18, 20
MOST_BOXES = 4
"""More boxes than these in a cell are drawn as one glyph a state with its number."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One box, or (`number` above 1) so many boxes of one state; x and y of its top left."""

    state: BoxState
    x: float
    y: float
    number: int = 1

    @property
    def text_x(self) -> float:
        return self.x + BOX_WIDTH + 3

    @property
    def text_y(self) -> float:
        return self.y + BOX_HEIGHT - 4


@dataclass(frozen=True, slots=True)
class Cell:
    """One size in one column.  `item` is empty where the catalogue makes none."""

    x: int
    y: int
    words: str
    item: str = ""
    planned: bool = False
    in_window: bool = False
    glyphs: tuple[Glyph, ...] = ()
    counts: tuple[tuple[BoxState, int], ...] = ()

    @property
    def says_numbers(self) -> bool:
        """Its glyphs stand for several boxes each."""
        return sum(number for _, number in self.counts) > MOST_BOXES


@dataclass(frozen=True, slots=True)
class Label:
    text: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Ladder:
    """`outline`: SVG path around the plan's window.  `rows`: the same cells, as a table's rows."""

    role: str
    width: int
    height: int
    rungs: tuple[Label, ...]
    columns: tuple[Label, ...]
    column_words: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]
    outline: str

    @property
    def cells(self) -> tuple[Cell, ...]:
        return tuple(cell for _, row in self.rows for cell in row)


def state_of(
    unit: Unit, promise: Promise | None, *, case: str, end: date, short_before: date
) -> BoxState:
    """What may be done with the box for `case`, which ends on the local day `end`.

    A use-by date before `short_before` makes a free box short-dated; use by is inclusive.
    """
    if unit.hold or (unit.expiry is not None and unit.expiry < end):
        return BoxState.NOT_USABLE
    if promise is not None and promise.case != case:
        return BoxState.PROMISED
    if unit.arrives is not None:
        return BoxState.ON_ORDER
    if promise is not None:
        return BoxState.HELD
    if unit.expiry is not None and unit.expiry < short_before:
        return BoxState.SHORT_DATED
    return BoxState.FREE


def ladder(
    *,
    role: str,
    implants: Sequence[Implant],
    planned: str,
    window: frozenset[str],
    states: Mapping[str, Sequence[BoxState]],
) -> Ladder:
    """Draw the ladder of `implants`: one line of one role, those with a size.

    `planned` and `window` are REFs; `states` holds every box's state by REF.
    """
    sizes = sorted({implant.attributes["size"] for implant in implants}, reverse=True)
    columns = sorted({column_of(implant) for implant in implants}, key=column_order)
    by_place = {(implant.attributes["size"], column_of(implant)): implant for implant in implants}
    rows = []
    for row, size in enumerate(sizes):
        cells = []
        for number, column in enumerate(columns):
            implant = by_place.get((size, column))
            x, y = GUTTER + number * COLUMN, TOP + row * ROW
            words = f"size {number_in_words(size)}, {column_in_words(column)}"
            if implant is None:
                cells.append(Cell(x, y, words))
                continue
            counts = Counter(states.get(implant.ref, ()))
            ordered = tuple((state, counts[state]) for state in BoxState if counts[state])
            cells.append(
                Cell(
                    x,
                    y,
                    words,
                    item=implant.ref,
                    planned=implant.ref == planned,
                    in_window=implant.ref in window or implant.ref == planned,
                    glyphs=glyphs(ordered, x, y),
                    counts=ordered,
                )
            )
        rows.append((number_in_words(size), tuple(cells)))
    return Ladder(
        role=role,
        width=GUTTER + len(columns) * COLUMN + 2,
        height=TOP + len(sizes) * ROW + 2,
        rungs=tuple(
            Label(number_in_words(size), GUTTER - 10, TOP + row * ROW + ROW / 2 + 6)
            for row, size in enumerate(sizes)
        ),
        columns=tuple(
            Label(word, GUTTER + number * COLUMN + COLUMN / 2, 18 + 18 * line)
            for number, column in enumerate(columns)
            for line, word in enumerate(column_lines(column))
        ),
        column_words=tuple(column_in_words(column) for column in columns),
        rows=tuple(rows),
        outline=outline([cell for _, row in rows for cell in row if cell.in_window]),
    )


def column_of(implant: Implant) -> tuple[Value | None, Value | None]:
    """(length, offset): the columns of one length stand together."""
    return implant.attributes.get("length"), implant.attributes.get("offset")


def column_order(column: tuple[Value | None, Value | None]) -> tuple[bool, object, bool]:
    """By length, standard offset before high."""
    length, offset = column
    return length is None, length or 0, offset != "standard"


def column_lines(column: tuple[Value | None, Value | None]) -> list[str]:
    length, offset = column
    lines = [str(offset).upper() if offset is not None else ""]
    lines.append(f"{number_in_words(length)} mm" if length is not None else "")
    return lines


def column_in_words(column: tuple[Value | None, Value | None]) -> str:
    length, offset = column
    said = [f"{str(offset).upper()} offset"] if offset is not None else []
    said += [f"{number_in_words(length)} mm"] if length is not None else []
    return ", ".join(said) or "all"


def glyphs(counts: Sequence[tuple[BoxState, int]], x: int, y: int) -> tuple[Glyph, ...]:
    """Lay the boxes of one cell in a line, centred."""
    total = sum(number for _, number in counts)
    top = y + (ROW - BOX_HEIGHT) / 2
    if total <= MOST_BOXES:
        single = [state for state, number in counts for _ in range(number)]
        left = x + (COLUMN - (len(single) * BOX_STEP - (BOX_STEP - BOX_WIDTH))) / 2
        return tuple(
            Glyph(state, left + place * BOX_STEP, top) for place, state in enumerate(single)
        )
    step = min(40, (COLUMN - 8) / len(counts))
    left = x + (COLUMN - step * len(counts)) / 2 + 1
    return tuple(
        Glyph(state, left + place * step, top, number)
        for place, (state, number) in enumerate(counts)
    )


def outline(cells: Sequence[Cell]) -> str:
    """The edges between the cells and what is not among them, as SVG line segments.

    The cells need not hang together: a window with a rung that is not made has a gap.
    """
    places = {(cell.x, cell.y) for cell in cells}
    edges = []
    for x, y in sorted(places):
        if (x, y - ROW) not in places:
            edges.append(f"M{x} {y}h{COLUMN}")
        if (x, y + ROW) not in places:
            edges.append(f"M{x} {y + ROW}h{COLUMN}")
        if (x - COLUMN, y) not in places:
            edges.append(f"M{x} {y}v{ROW}")
        if (x + COLUMN, y) not in places:
            edges.append(f"M{x + COLUMN} {y}v{ROW}")
    return "".join(edges)
