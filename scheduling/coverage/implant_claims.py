"""Implant claims: which case is promised which box.

Each catalogue item is a problem of its own.  Claims come in one order: reservations already made,
then planned units of all cases, then contingency, then spare; within each in order of precedence,
one claim a unit.  A claim asks for a box on the shelf first, then for one on order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import attrgetter
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
    """May a unit serve a case?  Held together so that claims, sharing and reasons agree."""

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
        self._clock = clock
        self._matching = Matching(len(units))
        self._lines = [CaseItem(case, need, n, n) for case, need, n in wanted]
        self._line_of: list[CaseItem] = []
        """By claim that is honoured."""
        self._boxes_for: dict[tuple[date, Minute], tuple[Boxes, Boxes]] = {}
        self._rivals_for: dict[tuple[Boxes, Boxes], tuple[str, ...]] = {}
        self._shelf: Boxes = 0
        self._ordered: list[tuple[Minute, Boxes]] = []
        """When each that is awaited, and not overdue, arrives."""
        for box, unit in enumerate(units):
            if unit.hold:
                continue
            if unit.arrives is None:
                self._shelf |= 1 << box
            elif (arrives := minute(unit.arrives)) >= clock.now:
                self._ordered.append((arrives, 1 << box))

    def decide(self, reserved: Iterable[Reserved]) -> ItemResult:
        refused = [one for one in reserved if not self._claim_reserved(*one)]
        for line in self._lines:
            shelf, ordered = self._boxes(line.case)
            self._claim(shelf, line)
            if line.short and ordered:
                self._claim(ordered, line)
            if line.short:
                line.rivals = self._rivals(line.case)
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
        return self._claim(own & (shelf | ordered), line, most=1) == 1

    def _claim(self, boxes: Boxes, line: CaseItem, most: int | None = None) -> int:
        """Let in claims on these boxes, as many as the line is short of; how many were."""
        before = line.short
        for _ in range(before if most is None else most):
            claim = self._matching.let_in(boxes)
            if claim is None:
                break
            line.claims.append(claim)
            self._line_of.append(line)
            line.short -= 1
        return before - line.short

    def _rivals(self, case: Case) -> tuple[str, ...]:
        """The cases whose claims hold all that would serve this one, once for each claim.

        Remembered: these claims want nothing else, so what is let in later changes nothing.
        """
        key = self._boxes(case)
        if key not in self._rivals_for:
            reached = self._matching.rivals(key[0] | key[1])
            refs = [self._line_of[claim].case.ref for claim in reached]
            self._rivals_for[key] = tuple(sorted(refs))
        return self._rivals_for[key]

    def _boxes(self, case: Case) -> tuple[Boxes, Boxes]:
        """The boxes that may serve the case: on the shelf, and on order.

        What of a case matters: the date on which it ends, and where boxes are awaited, when it
        needs them.
        """
        times = self._clock.times(case)
        key = times.last_day, times.needed_by if self._ordered else 0
        found = self._boxes_for.get(key)
        if found is None:
            # Units come in the order of their use-by dates: in date are the last of them.
            in_date = -1 << bisect_left(self._units, times.last_day, key=use_by)
            here = sum([box for arrives, box in self._ordered if arrives <= times.needed_by])
            found = self._boxes_for[key] = self._shelf & in_date, here & in_date
        return found

    def _assign(self) -> None:
        """First expiring, first out, with look-ahead: cases in time order, then by level."""
        matching, wants = self._matching, self._matching.wants
        codes = [unit.code for unit in self._units]
        lines = sorted(self._lines, key=_in_time)
        for line in lines:
            if len(line.claims) > 1:
                line.claims.sort(key=lambda claim: wants[claim].bit_count())
        matching.settle([claim for line in lines for claim in line.claims])
        for line in lines:
            boxes = [matching.box_of[claim] for claim in line.claims]
            line.held = tuple([codes[box] for box in boxes if self._shelf >> box & 1])
            if len(line.held) < len(boxes):
                line.on_order = tuple([codes[box] for box in boxes if not self._shelf >> box & 1])
