"""The shelf by line: a grid of sizes against offsets, lengths and whatever else differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from deploy.kit.attributes import Value
from scheduling.coverage.report import Report
from scheduling.coverage.values import Implant, Scenario, Unit
from scheduling.web.arrangement import Promise, promise_by_unit
from scheduling.words import attribute_in_words, thing_in_words

ROW_KEYS = ("size", "diameter", "inner_diameter", "length")
"""What may be a grid's rows: the first that differs within the line."""

COLUMN_KEYS = (
    "group",
    "inner_diameter",
    "material",
    "diameter",
    "length",
    "offset",
    "neck_length",
    "side",
)
STATES = ("promised", "short-dated", "on-order", "not-usable")


@dataclass(frozen=True, slots=True)
class ShelfCell:
    """`free`: on the shelf, in date for longer, on no hold, promised to nobody.  `others`: how
    many boxes are in each other state (each box counts once).  No REF: the size is not made."""

    ref: str
    free: int = 0
    others: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class ShelfRow:
    label: str
    cells: tuple[ShelfCell | None, ...]


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """One line of one role (where no system names it, of one taper): all its sizes.

    `anchor` is its place on the page.
    """

    anchor: str
    words: str
    boxes: int
    free: int
    columns: tuple[str, ...]
    rows: tuple[ShelfRow, ...]


def shelf_lines(
    scenario: Scenario, report: Report, *, short_dated_days: int
) -> tuple[ShelfLine, ...]:
    """Every line of the catalogue, in order of role and system.  No query."""
    zone = ZoneInfo(scenario.site.timezone)
    today = report.now.astimezone(zone).date()
    short_before = today + timedelta(days=short_dated_days)
    promises = promise_by_unit(report)
    counts: dict[str, Counter[str]] = {ref: Counter() for ref in scenario.implants}
    for unit in scenario.shelf.values():
        state = shelf_state(unit, promises.get(unit.code), today, short_before)
        counts[unit.implant][state] += 1
    lines: dict[tuple[str, str], list[Implant]] = {}
    for implant in scenario.implants.values():
        named = {k: v for k, v in implant.attributes.items() if k in ("system", "taper")}
        key = (implant.role, thing_in_words(implant.role, named))
        lines.setdefault(key, []).append(implant)
    return tuple(
        shelf_line(number, role, words, items, counts)
        for number, ((role, words), items) in enumerate(sorted(lines.items()), start=1)
    )


def shelf_state(unit: Unit, promise: Promise | None, today: date, short_before: date) -> str:
    """One state a box.  Out of date today counts as not usable; use by is inclusive."""
    if unit.hold or (unit.expiry is not None and unit.expiry < today):
        return "not-usable"
    if unit.arrives is not None:
        return "on-order"
    if promise is not None:
        return "promised"
    if unit.expiry is not None and unit.expiry < short_before:
        return "short-dated"
    return "free"


def shelf_line(
    number: int,
    role: str,
    words: str,
    items: Sequence[Implant],
    counts: Mapping[str, Counter[str]],
) -> ShelfLine:
    row_key, column_keys = axes(items)
    columns = sorted({place(item, column_keys) for item in items}, key=in_order)
    rows: dict[tuple[Value | None, ...], dict[tuple[Value | None, ...], Implant]] = {}
    for item in items:
        rows.setdefault(place(item, row_key), {})[place(item, column_keys)] = item
    return ShelfLine(
        anchor=f"line-{number}",
        words=words,
        boxes=sum(counts[item.ref].total() for item in items),
        free=sum(counts[item.ref]["free"] for item in items),
        columns=tuple(label(column_keys, column) for column in columns),
        rows=tuple(
            ShelfRow(
                label(row_key, row) or role,
                tuple(cell(of_row.get(column), counts) for column in columns),
            )
            for row, of_row in sorted(rows.items(), key=lambda pair: in_order(pair[0]))
        ),
    )


def axes(items: Sequence[Implant]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Which attributes are the rows and which the columns.

    Where the attributes that differ don't tell the items apart, the rows are the REFs.
    """
    differing = [
        key for key in (*ROW_KEYS, *COLUMN_KEYS) if len({i.attributes.get(key) for i in items}) > 1
    ]
    rows = tuple(key for key in ROW_KEYS if key in differing)[:1]
    columns = tuple(key for key in COLUMN_KEYS if key in differing and key not in rows)
    if len({place(item, rows + columns) for item in items}) < len(items):
        return ("ref",), ()
    return rows, columns


def place(item: Implant, keys: Sequence[str]) -> tuple[Value | None, ...]:
    return tuple(item.ref if key == "ref" else item.attributes.get(key) for key in keys)


def in_order(values: tuple[Value | None, ...]) -> tuple[tuple[int, Decimal, str], ...]:
    """Numbers by size, texts by letter but `standard` first, the unstated last."""
    return tuple(
        (2, Decimal(0), "")
        if value is None
        else (1, Decimal(value != "standard"), value)
        if isinstance(value, str)
        else (0, Decimal(value), "")
        for value in values
    )


def label(keys: Sequence[str], values: Sequence[Value | None]) -> str:
    said = [
        str(value) if key == "ref" else attribute_in_words(key, value)
        for key, value in zip(keys, values, strict=True)
        if value is not None
    ]
    return ", ".join(said)


def cell(item: Implant | None, counts: Mapping[str, Counter[str]]) -> ShelfCell | None:
    if item is None:
        return None
    count = counts[item.ref]
    return ShelfCell(
        item.ref,
        free=count["free"],
        others=tuple((state, count[state]) for state in STATES if count[state]),
    )
