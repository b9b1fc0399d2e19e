"""Implant claims: which case is promised which box.

Each catalogue item is a problem of its own.  Claims come in one order: reservations already made,
then planned units of all cases, then contingency, then spare; within each in order of precedence,
one claim a unit.  A claim asks for a box on the shelf first, then for one on order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from scheduling.coverage.clock import Clock, Minute, minute
from scheduling.coverage.matching import Box, Matching
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

    `held` and `on_order` are unit codes.  `rivals`: whose claims hold all the boxes that would
    serve what is short, a case once for each of its claims.
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


@dataclass(frozen=True, slots=True)
class _Honoured:
    claim: int
    line: CaseItem
    on_shelf: bool


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
        self._matching = Matching()
        self._honoured: list[_Honoured] = []
        self._lines = {
            (wants.case.ref, need): CaseItem(wants.case, need, quantity)
            for wants in wanting
            for need, quantity in wants.quantities.items()
            if quantity
        }
        self._left = {key: line.quantity for key, line in self._lines.items()}
        self._boxes_for: dict[tuple[date, Minute], tuple[list[Box], list[Box]]] = {}
        self._rivals_for: dict[tuple[int, tuple[Box, ...]], list[CaseItem]] = {}
        # Units come in the order of their use-by dates: in date on a day are the last of them.
        self._shelf = [i for i, u in enumerate(units) if self._eligible.on_shelf(u, date.min)]
        self._expiry = [units[i].expiry or date.max for i in self._shelf]
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
                if (wants.case.ref, need) in self._lines:
                    self._claim_level(wants, need)
        self._assign()
        return ItemResult(list(self._lines.values()), refused)

    def _claim_reserved(self, wants: Wanting, code: str) -> bool:
        """A reserved unit serves the highest level at which the case still wants the item.

        Nothing left to want: the reservation claims nothing, the unit is free, and that is no
        refusal.
        """
        level = next((n for n in Need if self._left.get((wants.case.ref, n), 0)), None)
        if level is None:
            return True
        shelf, ordered = self._boxes(wants.case)
        for boxes, on_shelf in ((shelf, True), (ordered, False)):
            own = [box for box in boxes if self._units[box].code == code]
            if own and self._claim(own, wants, level, on_shelf=on_shelf):
                return True
        return False

    def _claim_level(self, wants: Wanting, need: Need) -> None:
        key = (wants.case.ref, need)
        shelf, ordered = self._boxes(wants.case)
        while self._left[key] and self._claim(shelf, wants, need, on_shelf=True):
            pass
        while self._left[key] and self._claim(ordered, wants, need, on_shelf=False):
            pass
        if self._left[key]:
            line = self._lines[key]
            line.short = self._left[key]
            line.rivals = tuple(sorted({rival.case.ref for rival in self._rivals(wants.case)}))

    def _rivals(self, case: Case) -> list[CaseItem]:
        """The lines whose claims hold all that would serve the case.

        Remembered: these claims want nothing else, so what is let in later changes nothing.
        """
        shelf, ordered = self._boxes(case)
        key = len(shelf), tuple(ordered)
        if key not in self._rivals_for:
            reached = set(self._matching.rivals([*shelf, *ordered]))
            self._rivals_for[key] = [h.line for h in self._honoured if h.claim in reached]
        return self._rivals_for[key]

    def _moments(self, case: Case) -> tuple[date, Minute]:
        """What of a case matters to a box: the date on which it ends, and where boxes are
        awaited, when it needs them."""
        times = self._clock.times(case)
        return times.last_day, times.needed_by if self._ordered else 0

    def _boxes(self, case: Case) -> tuple[list[Box], list[Box]]:
        """The boxes that may serve the case: on the shelf, and on order."""
        key = self._moments(case)
        if key not in self._boxes_for:
            units, eligible, (day, needed_by) = self._units, self._eligible, key
            self._boxes_for[key] = (
                self._shelf[bisect_left(self._expiry, day) :],
                [i for i in self._ordered if eligible.on_order(units[i], day, needed_by)],
            )
        return self._boxes_for[key]

    def _claim(self, boxes: list[Box], wants: Wanting, need: Need, *, on_shelf: bool) -> bool:
        claim = self._matching.let_in(boxes)
        if claim is None:
            return False
        key = (wants.case.ref, need)
        self._left[key] -= 1
        self._honoured.append(_Honoured(claim, self._lines[key], on_shelf))
        return True

    def _assign(self) -> None:
        """First expiring, first out, with look-ahead: cases in time order, then by level."""
        in_time = sorted(
            self._honoured,
            key=lambda h: (
                h.line.case.start,
                h.line.case.ref,
                _LEVELS[h.line.need],
                len(self._matching.wants[h.claim]),
                h.claim,
            ),
        )
        self._matching.settle([honoured.claim for honoured in in_time])
        for honoured in in_time:
            code = self._units[self._matching.box_of[honoured.claim]].code
            (honoured.line.held if honoured.on_shelf else honoured.line.on_order).append(code)
