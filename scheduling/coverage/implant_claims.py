"""Implant claims: which case is promised which box.

Each catalogue item is a problem of its own.  Claims come in one order: reservations already made,
then planned units of all cases, then contingency, then spare; within each in order of precedence,
one claim a unit.  A claim asks for a box on the shelf first, then for one on order.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate
from operator import attrgetter, or_
from typing import NamedTuple

from scheduling.coverage.bits import bits_of
from scheduling.coverage.clock import Clock, Minute, minute
from scheduling.coverage.matching import Boxes, Matching
from scheduling.coverage.values import Case, Need, Unit

Wanted = tuple[Case, Need, int]
"""A case that wants an item, at which level, and how many boxes."""

Reserved = tuple[Case, str]
"""A case and the unit reserved for it."""


@dataclass(slots=True)
class CaseItem:
    """What one case got of one item, at one level.

    `claims`: those that are honoured, by number; `held` and `on_order` are the unit codes;
    `short`: how many claims are not honoured, at first all.  `rivals`: whose claims hold all the
    boxes that would serve what is short, a case once for each of its claims.
    """

    case: Case
    need: Need
    quantity: int
    short: int
    claims: list[int] = field(default_factory=list)
    held: tuple[str, ...] = ()
    on_order: tuple[str, ...] = ()
    rivals: tuple[str, ...] = ()


class ItemResult(NamedTuple):
    """`refused_reservations`: those that bind nobody."""

    lines: list[CaseItem]
    refused_reservations: list[Reserved]


def use_by(unit: Unit) -> date:
    """A box that does not expire comes after all others."""
    return unit.expiry or date.max


def shelf_order(unit: Unit) -> tuple[date, str]:
    """First expiring first, then unit code."""
    return use_by(unit), unit.code


class Eligibility:
    """May a unit serve a case?  The claims ask the same of all units of an item at once."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock

    def on_shelf(self, unit: Unit, last_day: date) -> bool:
        return not unit.hold and unit.arrives is None and self.in_date(unit, last_day)

    def on_order(self, unit: Unit, last_day: date, needed_by: Minute) -> bool:
        """Awaited, not overdue, and here in time."""
        return (
            not unit.hold
            and unit.arrives is not None
            and self._clock.now <= minute(unit.arrives) <= needed_by
            and self.in_date(unit, last_day)
        )

    @staticmethod
    def in_date(unit: Unit, last_day: date) -> bool:
        """Use by is inclusive: in date on the day on which the case ends."""
        return unit.expiry is None or unit.expiry >= last_day


def claim_item(
    clock: Clock, units: Sequence[Unit], wanted: Iterable[Wanted], reserved: Iterable[Reserved] = ()
) -> ItemResult:
    """Decide all claims on one item.

    `units`: the item's units in `shelf_order`; `wanted` by level, then in precedence order;
    `reserved` in precedence order.
    """
    return _ItemClaims(clock, units, wanted).decide(reserved)


_in_time = attrgetter("case.start", "case.ref")


class _ItemClaims:
    def __init__(self, clock: Clock, units: Sequence[Unit], wanted: Iterable[Wanted]) -> None:
        self._units = units
        self._use_by = [use_by(unit) for unit in units]
        self._clock = clock
        self._matching = Matching(len(units))
        self._lines = [CaseItem(case, need, n, n) for case, need, n in wanted]
        self._line_of: list[CaseItem] = []
        """By claim that is honoured."""
        self._rivals_for: dict[Boxes, tuple[str, ...]] = {}
        self._shelf: Boxes = 0
        awaited: list[tuple[Minute, Boxes]] = []
        for box, unit in enumerate(units):
            if unit.hold:
                continue
            if unit.arrives is None:
                self._shelf |= 1 << box
            elif (arrives := minute(unit.arrives)) >= clock.now:
                awaited.append((arrives, 1 << box))
        awaited.sort()
        self._arrivals = [arrives for arrives, _ in awaited]
        """When those that are awaited, and not overdue, arrive."""
        self._arrived = list(accumulate([box for _, box in awaited], or_, initial=0))
        """Which of them are here after so many arrivals."""

    def decide(self, reserved: Iterable[Reserved]) -> ItemResult:
        refused = [one for one in reserved if not self._claim_reserved(*one)]
        for line in self._lines:
            shelf, ordered = self._boxes(line.case)
            while line.short and self._let_in(shelf, line):
                pass
            while line.short and ordered and self._let_in(ordered, line):
                pass
            if line.short:
                line.rivals = self._rivals(shelf | ordered)
        self._assign()
        return ItemResult(self._lines, refused)

    def _claim_reserved(self, case: Case, code: str) -> bool:
        """A reserved unit serves the highest level at which the case still wants the item.

        Nothing left to want: the reservation claims nothing, the unit is free, and that is no
        refusal.
        """
        wanting = (line for line in self._lines if line.case.ref == case.ref and line.short)
        line = next(wanting, None)
        if line is None:
            return True
        own = bits_of(box for box, unit in enumerate(self._units) if unit.code == code)
        shelf, ordered = self._boxes(case)
        return self._let_in(own & (shelf | ordered), line)

    def _let_in(self, boxes: Boxes, line: CaseItem) -> bool:
        """Let in one more claim of the line, on these boxes, if it can be served."""
        claim = self._matching.let_in(boxes)
        if claim is None:
            return False
        line.claims.append(claim)
        line.short -= 1
        self._line_of.append(line)
        return True

    def _rivals(self, boxes: Boxes) -> tuple[str, ...]:
        """The cases whose claims hold all of these boxes, once for each claim.

        Remembered: these claims want nothing else, so what is let in later changes nothing.
        """
        if boxes not in self._rivals_for:
            reached = self._matching.rivals(boxes)
            refs = [self._line_of[claim].case.ref for claim in reached]
            self._rivals_for[boxes] = tuple(sorted(refs))
        return self._rivals_for[boxes]

    def _boxes(self, case: Case) -> tuple[Boxes, Boxes]:
        """The boxes that may serve the case: on the shelf, and on order."""
        times = self._clock.times(case)
        # Units come in the order of their use-by dates: in date are the last of them.
        in_date = -1 << bisect_left(self._use_by, times.last_day)
        arrived = self._arrived[bisect_right(self._arrivals, times.needed_by)]
        return self._shelf & in_date, arrived & in_date

    def _assign(self) -> None:
        """First expiring, first out, with look-ahead: cases in time order, then by level."""
        matching, wants = self._matching, self._matching.wants
        codes = [unit.code for unit in self._units]
        lines = sorted([line for line in self._lines if line.claims], key=_in_time)
        for line in lines:
            if len(line.claims) > 1:
                line.claims.sort(key=lambda claim: wants[claim].bit_count())
        matching.settle([claim for line in lines for claim in line.claims])
        box_of, shelf = matching.box_of, self._shelf
        for line in lines:
            boxes = [box_of[claim] for claim in line.claims]
            if self._arrivals:
                line.on_order = tuple([codes[box] for box in boxes if not shelf >> box & 1])
                boxes = [box for box in boxes if shelf >> box & 1]
            line.held = tuple([codes[box] for box in boxes])
