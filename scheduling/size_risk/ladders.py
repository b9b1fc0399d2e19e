"""Booked cases and boxes on the ladders that are made: what size risk is reckoned from. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from deploy.kit.attributes import Value
from scheduling.coverage.catalogue import Catalogue, is_number
from scheduling.coverage.clock import Clock
from scheduling.coverage.precedence import by_time
from scheduling.coverage.values import Case, Implant, Scenario, Unit
from scheduling.size_risk.record import Line, Size
from scheduling.size_risk.risk import Rung

FOLLOW_THE_SIZE = frozenset({"size", "distal_diameter", "seat_offset"})
"""Attributes that change from rung to rung; all others must be the same on one ladder."""


@dataclass(frozen=True, slots=True)
class SizeLadder:
    """One ladder with the booked cases that are planned on it, in time order.

    A rung is a place among `sizes`, those of the whole line: so a step means the same on every
    ladder of it.  `same`: what all items of this one have in common.  `boxes`: rungs that are made
    here → boxes on the shelf, on no hold, and in date for all of these cases.
    """

    line: Line
    same: tuple[tuple[str, Value], ...]
    sizes: tuple[Size, ...]
    cases: tuple[Case, ...]
    planned: tuple[Rung, ...]
    boxes: Mapping[Rung, int]


def size_of(attributes: Mapping[str, Value]) -> Size | None:
    size = attributes.get("size")
    return size if is_number(size) and not isinstance(size, str) else None


def line_of(role: str, attributes: Mapping[str, Value]) -> Line:
    return Line(role, str(attributes.get("system", "")))


def sizes_made(items: Iterable[tuple[str, Mapping[str, Value]]]) -> dict[Line, list[Size]]:
    """The sizes of each line, in order; of each item its role and attributes are given."""
    sizes: dict[Line, set[Size]] = defaultdict(set)
    for role, attributes in items:
        size = size_of(attributes)
        if size is not None:
            sizes[line_of(role, attributes)].add(size)
    return {line: sorted(made) for line, made in sizes.items()}


def ladders(scenario: Scenario) -> tuple[SizeLadder, ...]:
    """The ladders on which a booked case is planned.  A component that matches no single implant,
    or one without a size, is on none."""
    catalogue = Catalogue(scenario)
    booked: dict[_Same, list[tuple[Case, Size]]] = defaultdict(list)
    for case in sorted(scenario.cases.values(), key=by_time):
        for role, part in case.components.items():
            found = catalogue.matching(role, part.attributes)
            size = size_of(found[0].attributes) if len(found) == 1 else None
            if size is not None:
                booked[_same(found[0])].append((case, size))
    clock = Clock(scenario.site)
    last_days = {same: max(clock.last_day(case) for case, _ in of) for same, of in booked.items()}
    boxes: dict[_Same, Counter[Size]] = defaultdict(Counter)
    for item in scenario.implants.values():
        size = size_of(item.attributes)
        if size is not None:
            boxes[_same(item)][size] += 0
    for unit in scenario.shelf.values():
        item = scenario.implants[unit.implant]
        size, last_day = size_of(item.attributes), last_days.get(_same(item))
        if size is not None and last_day is not None and _there(unit, last_day):
            boxes[_same(item)][size] += 1
    made = sizes_made((item.role, item.attributes) for item in scenario.implants.values())
    found_ladders = []
    for same, of in booked.items():
        line = line_of(same[0], dict(same[1]))
        rung = {size: place for place, size in enumerate(made[line])}
        found_ladders.append(
            SizeLadder(
                line=line,
                same=same[1],
                sizes=tuple(made[line]),
                cases=tuple(case for case, _ in of),
                planned=tuple(rung[size] for _, size in of),
                boxes={rung[size]: number for size, number in sorted(boxes[same].items())},
            )
        )
    return tuple(sorted(found_ladders, key=lambda ladder: (ladder.line, str(ladder.same))))


_Same = tuple[str, tuple[tuple[str, Value], ...]]
"""What tells ladders apart: the role, and all attributes that do not follow the size."""


def _same(item: Implant) -> _Same:
    kept = {k: v for k, v in item.attributes.items() if k not in FOLLOW_THE_SIZE}
    return item.role, tuple(sorted(kept.items()))


def _there(unit: Unit, last_day: date) -> bool:
    in_date = unit.expiry is None or unit.expiry >= last_day
    return in_date and not unit.hold and unit.arrives is None
