"""Sharing: a short contingency may lean on a box that is another case's contingency.

Only what nobody is expected to use may be lent: every claim that the box serves, or that already
leans on it, is a contingency of another case, and either a replacement of each use would be here
in time, or each of those cases has returned the box in time.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduling.coverage.clock import NEVER, Clock, Minute
from scheduling.coverage.implant_claims import CaseItem, use_by
from scheduling.coverage.precedence import by_time
from scheduling.coverage.values import Case, Implant, Need, Unit


class Leaning(NamedTuple):
    """`unit` serves `owner` first; `others` (by reference) lean on it already.  `replaced`: every
    use of it by these would be replaced in time."""

    line: CaseItem
    unit: str
    owner: str
    others: tuple[str, ...]
    replaced: bool


@dataclass(slots=True)
class _Lent:
    """A box that serves a contingency: who counts on it, and from when on somebody else may.

    `replaced`: when a replacement of each use would be here, NEVER where none comes by itself.
    """

    unit: Unit
    owner: str
    users: set[str]
    replaced: Minute
    returned: Minute


def share(
    clock: Clock, implant: Implant, units: Sequence[Unit], lines: Sequence[CaseItem]
) -> list[Leaning]:
    """Let the short contingency claims of one item lean, in time order.

    `units` in shelf order, `lines` as the claims left them; the lines are not changed.
    """
    short = [line for line in lines if line.short and line.need is Need.CONTINGENCY]
    if not short:
        return []
    return _Sharing(clock, implant, units, lines, short).leanings()


class _Sharing:
    def __init__(
        self,
        clock: Clock,
        implant: Implant,
        units: Sequence[Unit],
        lines: Sequence[CaseItem],
        short: Sequence[CaseItem],
    ) -> None:
        self._clock = clock
        self._lead_days = implant.lead_days if implant.replaced_on_use else None
        self._orders = clock.orders_with(implant.supplier)
        self._short = sorted(short, key=lambda line: by_time(line.case))
        level = Need.CONTINGENCY
        serves = {code: line.case for line in lines if line.need is level for code in line.held}
        # In shelf order, so that the first that may be lent is the first expiring.
        self._lent = [
            _Lent(unit, owner.ref, {owner.ref}, self._replaced(owner), clock.returned(owner))
            for unit in units
            if (owner := serves.get(unit.code)) is not None
        ]
        self._use_by = [use_by(lent.unit) for lent in self._lent]

    def _replaced(self, user: Case) -> Minute:
        """When a replacement, ordered as the user leaves theatre, would be delivered."""
        if self._lead_days is None:
            return NEVER
        return self._orders.delivery(self._clock.out(user), self._lead_days)

    def leanings(self) -> list[Leaning]:
        found: list[Leaning] = []
        for line in self._short:
            for _ in range(line.short):
                chosen = self._best(line.case)
                if chosen is None:
                    break
                lent, replaced = chosen
                others = tuple(sorted(lent.users - {lent.owner}))
                found.append(Leaning(line, lent.unit.code, lent.owner, others, replaced))
                lent.users.add(line.case.ref)
                lent.replaced = max(lent.replaced, self._replaced(line.case))
                lent.returned = max(lent.returned, self._clock.returned(line.case))
        return found

    def _best(self, borrower: Case) -> tuple[_Lent, bool] | None:
        """The box to lean on, and whether its uses would be replaced: such a one first, then
        the first expiring, then by code."""
        ref, times = borrower.ref, self._clock.times(borrower)
        needed_by = times.needed_by
        returned: _Lent | None = None
        # In shelf order those in date are the last.
        for lent in self._lent[bisect_left(self._use_by, times.last_day) :]:
            if ref in lent.users:
                continue
            if lent.replaced <= needed_by:
                return lent, True
            if returned is None and lent.returned <= needed_by:
                returned = lent
        return None if returned is None else (returned, False)
