"""Refusals by counting: k cases need one of these trays at a time, and there are fewer.

Take some configurations such that every option of a set names one of them: whoever asks for that
set needs one of their trays, whatever the option.  The uses of all who do must follow one another
on these trays.  Whether they can is a matching, as in a pool (`tray_chains`); where they cannot,
no search would find an arrangement.  The other way round nothing is said: which trays a case needs
together is left out of account, and that it must keep to one configuration before and after.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import chain, product

from scheduling.coverage.report import Status
from scheduling.coverage.tray_assignment import Assignment
from scheduling.coverage.tray_bundles import Demand
from scheduling.coverage.tray_chains import Chains, Places
from scheduling.coverage.tray_conflict import (
    Conflict,
    least_conflict,
    nearest_first,
    smallest,
)
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_pools import Pool

_MOST_OPTIONS = 4
"""Of a set with more options, the ways to name one of each are too many."""


class Bounds:
    """All the counts of a group, kept up with its demands."""

    def __init__(self, group: Group, assignment: Assignment) -> None:
        named: dict[frozenset[str], None] = {}
        if not group.sparing:
            for asking in group.cases:
                for asked in asking.sets:
                    if len(asked.options) <= _MOST_OPTIONS:
                        named.update(dict.fromkeys(map(frozenset, product(*asked.options))))
        self._counts = [_Count(group, assignment, configurations) for configurations in named]

    def conflict(self, i: Index) -> frozenset[Index] | None:
        """Cases that, with the present demands, need more trays at a time than there are, case
        `i` among them; None where the counts say nothing.

        All demands but that of case `i` must be known to be met together.
        """
        for count in self._counts:
            conflict = count.conflict(i)
            if conflict is not None:
                return conflict
        return None

    def smallest_conflict(self, i: Index) -> Conflict | None:
        """The smallest conflict that a count finds with the present demands; None where they say
        nothing."""
        found = (count.least_conflict(i) for count in self._counts)
        return smallest(conflict for conflict in found if conflict is not None)

    def forget(self, i: Index) -> None:
        """The demand of case `i` that was asked about last is not met."""
        for count in self._counts:
            count.leave_out(i)


class _Count:
    """Who needs one tray of some configurations, and how these uses may follow one another."""

    def __init__(
        self, group: Group, assignment: Assignment, configurations: frozenset[str]
    ) -> None:
        self._assignment = assignment
        self._group = group
        self._first_tray: dict[Pool, int] = {}
        trays = 0
        for pool in assignment.pools:
            if pool.configuration in configurations:
                self._first_tray[pool] = trays
                trays += len(pool.codes)
        self._trays = trays
        self._chains = Chains(trays, len(group.cases))
        self._sets: dict[Index, list[int]] = {}
        """Of each case the sets that need one of these trays whatever the option."""
        self._naming: list[dict[str, int]] = []
        """Configuration → the cases, as bits, of which the first such set names it; the second;
        and so on."""
        for i, asking in enumerate(group.cases):
            for number, asked in enumerate(asking.sets):
                if any(configurations.isdisjoint(option) for option in asked.options):
                    continue
                sets = self._sets.setdefault(i, [])
                sets.append(number)
                if len(self._naming) < len(sets):
                    self._naming.append(defaultdict(int))
                for code in configurations.intersection(chain(*asked.options)):
                    self._naming[len(sets) - 1][code] |= 1 << i
        self._counted: dict[Index, Demand] = {}
        self._may_follow: dict[tuple[Pool, Index, Status], Places] = {}

    def conflict(self, i: Index) -> frozenset[Index] | None:
        if i not in self._sets:
            return None
        for other in self._sets:
            if other != i:
                self._count(other)
        return self._count(i)

    def least_conflict(self, i: Index) -> Conflict | None:
        cases = self.conflict(i)
        if cases is None:
            return None
        others = nearest_first(self._group, i, cases)
        least = least_conflict(i, others, self._too_many)
        assert least is not None, "too many places wanted by some, but not by them alone"
        places = 0
        for one in least:
            for number in self._asked(one):
                places |= self._places(one, number)
        codes = [
            code
            for pool, first in self._first_tray.items()
            for tray, code in enumerate(pool.codes, first)
            if places >> tray & 1
        ]
        return Conflict(least, tuple(sorted(codes)))

    def _too_many(self, cases: Sequence[Index]) -> bool:
        """Do these cases alone need more than these trays?"""
        chains = Chains(self._trays, len(self._group.cases))
        return any(
            chains.add(chains.use(i, place), self._places(i, number)) is not None
            for i in cases
            for place, number in enumerate(self._sets[i])
            if number in self._asked(i)
        )

    def leave_out(self, i: Index) -> None:
        if self._counted.pop(i, None) is not None:
            for place in range(len(self._sets[i])):
                use = self._chains.use(i, place)
                if self._chains.has(use):
                    self._chains.remove(use)

    def _count(self, i: Index) -> frozenset[Index] | None:
        """Bring the uses of case `i` up to its present demand; where that cannot be, leave them
        out and say who is in the way."""
        demand = self._assignment.demands[i]
        if self._counted.get(i) is demand:
            return None
        self.leave_out(i)
        self._counted[i] = demand
        for place, number in enumerate(self._sets[i]):
            if number in demand.sets:
                use = self._chains.use(i, place)
                conflict = self._chains.add(use, self._places(i, number))
                if conflict is not None:
                    self.leave_out(i)
                    return conflict
        return None

    def _places(self, i: Index, number: int) -> Places:
        """All that the tray for one set of case `i` may come after."""
        status = self._assignment.demands[i].sets[number].status
        places = 0
        for pool in self._pools(i, number):
            key = pool, i, status
            if key not in self._may_follow:
                self._may_follow[key] = self._places_in(pool, i, status)
            places |= self._may_follow[key]
        return places

    def _pools(self, i: Index, number: int) -> list[Pool]:
        """The pools of these configurations that may serve one set of case `i`."""
        pools = self._assignment.pools_for(number, self._assignment.options(i))
        return [pool for pool in pools if pool in self._first_tray]

    def _asked(self, i: Index) -> list[int]:
        """The sets of case `i` that need one of these trays, as far as they stand."""
        return [number for number in self._sets[i] if number in self._assignment.demands[i].sets]

    def _places_in(self, pool: Pool, i: Index, status: Status) -> Places:
        places = pool.first_for(i, status) << self._first_tray[pool]
        over = pool.over_for(i, status)
        for place, naming in enumerate(self._naming):
            places |= self._chains.after_cases(over & naming[pool.configuration], place)
        return places
