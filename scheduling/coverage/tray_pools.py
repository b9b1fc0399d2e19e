"""Pools: trays that cannot be told apart.

A pool is the trays of one configuration that hold the same of all that the group wants.  Which of
them serves whom need not be said to know that all can be served.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.coverage.bits import Bits
from scheduling.coverage.report import Status
from scheduling.coverage.tray_chains import Chains, Place, Places
from scheduling.coverage.tray_group import Group, Index


class Pool(Chains):
    """The trays `codes` of one configuration, and the uses that a group's cases make of them."""

    def __init__(self, group: Group, codes: Sequence[str]) -> None:
        super().__init__(len(codes), len(group.cases))
        self.codes = codes
        facts = group.fleet.facts[codes[0]]
        self.configuration = facts.configuration.code
        self._awaited = facts.arrives is not None
        self._group = group
        self._most_at_once = group.most_at_once(codes[0])
        self._first_uses: dict[Status, list[Bits]] = {}
        self._may_follow: dict[tuple[Index, Status], Places] = {}

    def first_for(self, i: Index, status: Status) -> Places:
        """The trays whose first use may be by case `i` with this status."""
        if status not in self._first_uses:
            self._first_uses[status] = [self._group.first_uses(code, status) for code in self.codes]
        places = 0
        for number, uses in enumerate(self._first_uses[status]):
            places |= (uses >> i & 1) << number
        return places

    def over_for(self, i: Index, status: Status) -> int:
        """The cases, as bits, after whose use the trays can serve case `i` with this status."""
        if self._awaited and status is Status.HELD:
            return 0
        return self._group.over_for(self.codes[0], i, status)

    def may_follow(self, i: Index, status: Status) -> Places:
        """All that a use by case `i` with this status may come after, if it is there."""
        key = i, status
        if key not in self._may_follow:
            places, over = self.first_for(i, status), self.over_for(i, status)
            for number in range(self._most_at_once):
                places |= self.after_cases(over, number)
            self._may_follow[key] = places
        return self._may_follow[key]

    def code_of(self, use: Place) -> str:
        """The tray that makes a use at present."""
        return self.codes[self.tray_of(use)]


def pools_of(group: Group) -> Sequence[Pool]:
    """The pools of a group's trays; those on hold or overdue are in none.  A tray that somebody
    reserved is alone in its own."""
    alike: dict[object, list[str]] = {}
    for facts in group.fleet.trays_for(group.cases):
        if group.out_of_use(facts):
            continue
        code = facts.tray.code
        signature = (
            facts.configuration.code,
            code if code in group.reserved else "",
            facts.arrives is None,
            frozenset(
                [
                    (ref, facts.contents.get(ref, 0))
                    for ref in facts.tray.missing
                    if ref in group.wanted_refs and ref in facts.configuration.contents
                ]
            ),
        )
        alike.setdefault(signature, []).append(code)
    return [Pool(group, codes) for codes in alike.values()]
