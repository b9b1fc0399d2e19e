"""The bundles of one case after another in time order, by the very trays that serve it.

The cases decided so far are fixed; of a tray only its last use matters, and trays that are free
again at the same time for all that follows are alike: the lowest code stands for them.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.coverage.report import Status
from scheduling.coverage.tray_assignment import Assignment, Choice
from scheduling.coverage.tray_bundles import Bundles
from scheduling.coverage.tray_chains import Place
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_pools import Pool


class Shown:
    """Walks through a group's cases; `ends` says what each tray's next use would come after."""

    def __init__(self, group: Group, assignment: Assignment) -> None:
        self._group = group
        self._assignment = assignment
        self._last: dict[str, tuple[Index, Place]] = {}
        """The last use of each tray so far: the case, and the use."""

    def preferences(self, i: Index) -> Iterator[Choice]:
        """The bundles that the trays could serve case `i` with, the most preferred first."""
        demand = self._assignment.demands[i]

        def available(code: str, status: Status) -> bool:
            pool = self._assignment.pool_of(code)
            return pool is not None and bool(
                pool.may_follow(i, status) >> self._end(pool, code) & 1
            )

        def alike(code: str) -> object:
            return self._assignment.pool_of(code), self._readiness(code, i)

        fleet = self._group.fleet
        for bundle in Bundles(self._group.cases[i], demand, fleet, available, alike):
            uses = []
            taken: dict[Pool, int] = {}
            for code in bundle.codes():
                pool = self._assignment.pool_of(code)
                assert pool is not None
                number = taken.get(pool, 0)
                uses.append((pool, pool.use(i, number), 1 << self._end(pool, code)))
                taken[pool] = number + 1
            yield Choice(bundle, tuple(uses))

    def fix(self, i: Index) -> None:
        """Case `i` keeps what it has been given."""
        self._assignment.fix(i)
        choice = self._assignment.choices[i]
        for code, (_, use, _) in zip(choice.bundle.codes(), choice.uses, strict=True):
            self._last[code] = i, use

    def _end(self, pool: Pool, code: str) -> Place:
        last = self._last.get(code)
        return pool.codes.index(code) if last is None else last[1]

    def _readiness(self, code: str, i: Index) -> object:
        """When a tray is ready again, as far as cases from `i` on can notice; None: for all."""
        last = self._last.get(code)
        if last is None:
            return self._group.unused(code, i)
        standard, fast = self._group.again(code, last[0])
        if standard <= i and self._group.fleet.facts[code].arrives is None:
            return None
        return max(standard, i), max(fast, i)
