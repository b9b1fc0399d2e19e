"""Implant claims: which case is promised which box.

Each catalogue item is a problem of its own.  Claims come in one order: reservations already made,
then planned units of all cases, then contingency, then spare; within each in order of precedence,
one claim a unit.  A claim asks for a box on the shelf first, then for one on order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from scheduling.coverage.bits import bits_of
from scheduling.coverage.clock import Clock, Minute, minute
from scheduling.coverage.matching import Boxes, Matching
from scheduling.coverage.values import Case, Need, Unit


@dataclass(frozen=True, slots=True)
class Wanting:
    """One case that wants an item: how many at each level, and its reservations of it."""

    case: Case
    quantities: Mapping[Need, int]
    reserved: tuple[str, ...] = ()


@dataclass(slots=True)
class CaseItem:
    """What one case got of one item, at one level.

    `held` and `on_order` are unit codes; `short`: how many claims are not honoured, at first all.
    `rivals`: whose claims hold all the boxes that would serve what is short, a case once for each
    of its claims.
    """

    case: Case
    need: Need
    quantity: int
    held: list[str] = field(default_factory=list)
    on_order: list[str] = field(default_factory=list)
    short: int = 0
    rivals: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ItemResult:
    """`refused_reservations`: (case reference, unit code) of reservations that bind nobody."""

    lines: list[CaseItem]
    refused_reservations: list[tuple[str, str]]


def shelf_order(unit: Unit) -> tuple[date, str]:
    """First expiring first, then unit code; a box that does not expire comes last."""
    return unit.expiry or date.max, unit.code


_LEVELS = {need: place for place, need in enumerate(Need)}


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


def claim_item(clock: Clock, units: Sequence[Unit], wanting: Sequence[Wanting]) -> ItemResult:
    """Decide all claims on one item.

    `units`: the item's units in `shelf_order`; `wanting`: the cases that want or have reserved
    it, in precedence order.
    """
    return _ItemClaims(clock, units, wanting).decide()


class _ItemClaims:
    def __init__(self, clock: Clock, units: Sequence[Unit], wanting: Sequence[Wanting]) -> None:
        self._units = units
        self._wanting = wanting
        self._clock = clock
        self._eligible = Eligibility(clock)
        self._matching = Matching(len(units))
        self._honoured: list[tuple[CaseItem, bool]] = []
        """By claim: its line, and whether it asked for a box on the shelf."""
        self._lines = {
            (wants.case.ref, need): CaseItem(wants.case, need, quantity, short=quantity)
            for wants in wanting
            for need, quantity in wants.quantities.items()
            if quantity
        }
        self._boxes_for: dict[tuple[date, Minute], tuple[Boxes, Boxes]] = {}
        self._rivals_for: dict[tuple[Boxes, Boxes], tuple[str, ...]] = {}
        # Units come in the order of their use-by dates: in date on a day are the last of them.
        self._expiry = [unit.expiry or date.max for unit in units]
        self._shelf = bits_of(
            i for i, unit in enumerate(units) if self._eligible.on_shelf(unit, date.min)
        )
        self._ordered = [i for i, unit in enumerate(units) if unit.arrives is not None]

    def decide(self) -> ItemResult:
        refused = [
            (wants.case.ref, code)
            for wants in self._wanting
            for code in sorted(wants.reserved)
            if not self._claim_reserved(wants, code)
        ]
        for need in Need:
            for wants in self._wanting:
                line = self._lines.get((wants.case.ref, need))
                if line is not None:
                    self._claim_level(line)
        self._assign()
        return ItemResult(list(self._lines.values()), refused)

    def _claim_reserved(self, wants: Wanting, code: str) -> bool:
        """A reserved unit serves the highest level at which the case still wants the item.

        Nothing left to want: the reservation claims nothing, the unit is free, and that is no
        refusal.
        """
        lines = (self._lines.get((wants.case.ref, need)) for need in Need)
        line = next((line for line in lines if line is not None and line.short), None)
        if line is None:
            return True
        own = bits_of(i for i, unit in enumerate(self._units) if unit.code == code)
        shelf, ordered = self._boxes(wants.case)
        return self._claim(own & shelf, line, on_shelf=True) or self._claim(
            own & ordered, line, on_shelf=False
        )

    def _claim_level(self, line: CaseItem) -> None:
        shelf, ordered = self._boxes(line.case)
        while line.short and self._claim(shelf, line, on_shelf=True):
            pass
        while line.short and self._claim(ordered, line, on_shelf=False):
            pass
        if line.short:
            line.rivals = self._rivals(line.case)

    def _rivals(self, case: Case) -> tuple[str, ...]:
        """The cases whose claims hold all that would serve this one, once for each claim.

        Remembered: these claims want nothing else, so what is let in later changes nothing.
        """
        key = self._boxes(case)
        if key not in self._rivals_for:
            reached = self._matching.rivals(key[0] | key[1])
            refs = [self._honoured[claim][0].case.ref for claim in reached]
            self._rivals_for[key] = tuple(sorted(refs))
        return self._rivals_for[key]

    def _moments(self, case: Case) -> tuple[date, Minute]:
        """What of a case matters to a box: the date on which it ends, and where boxes are
        awaited, when it needs them."""
        times = self._clock.times(case)
        return times.last_day, times.needed_by if self._ordered else 0

    def _boxes(self, case: Case) -> tuple[Boxes, Boxes]:
        """The boxes that may serve the case: on the shelf, and on order."""
        key = self._moments(case)
        if key not in self._boxes_for:
            units, eligible, (day, needed_by) = self._units, self._eligible, key
            self._boxes_for[key] = (
                self._shelf & (-1 << bisect_left(self._expiry, day)),
                bits_of(i for i in self._ordered if eligible.on_order(units[i], day, needed_by)),
            )
        return self._boxes_for[key]

    def _claim(self, boxes: Boxes, line: CaseItem, *, on_shelf: bool) -> bool:
        if self._matching.let_in(boxes) is None:
            return False
        line.short -= 1
        self._honoured.append((line, on_shelf))
        return True

    def _assign(self) -> None:
        """First expiring, first out, with look-ahead: cases in time order, then by level."""
        matching, honoured = self._matching, self._honoured

        def order(claim: int) -> tuple[datetime, str, int, int, int]:
            line = honoured[claim][0]
            boxes = matching.wants[claim].bit_count()
            return line.case.start, line.case.ref, _LEVELS[line.need], boxes, claim

        in_time = sorted(range(len(honoured)), key=order)
        matching.settle(in_time)
        for claim in in_time:
            line, on_shelf = honoured[claim]
            code = self._units[matching.box_of[claim]].code
            (line.held if on_shelf else line.on_order).append(code)
