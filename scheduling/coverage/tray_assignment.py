"""What each case of a group has at present: one of its choices, and the uses of pools it comes to.

A choice is a bundle as far as it matters to others: which pools the trays come from, and with
which status they are used.  The bundle names a tray of each pool; which one serves in the end is
left to the pool.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from scheduling.coverage.report import Status
from scheduling.coverage.tray_bundles import NO_BUNDLE, Bundle, Bundles, Demand
from scheduling.coverage.tray_chains import Place, Places
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_pools import Pool, pools_of


class Choice(NamedTuple):
    """`uses`: of each tray of the bundle, in its order, the pool, the use, and what it may come
    after."""

    bundle: Bundle
    uses: tuple[tuple[Pool, Place, Places], ...]


NOTHING = Choice(NO_BUNDLE, ())


class Assignment:
    """The present choices and demands of a group's cases."""

    def __init__(self, group: Group) -> None:
        self._group = group
        self.demands = [Demand() for _ in group.cases]
        self.choices = [NOTHING for _ in group.cases]
        self.blocking: frozenset[Index] = frozenset()
        """After a choice that could not be given: the cases that together have too few trays."""
        self.pools = pools_of(group)
        self._refusing: Pool | None = None
        self._pool_of = {code: pool for pool in self.pools for code in pool.codes}
        self._options: dict[Index, tuple[Demand, Sequence[Choice]]] = {}
        self._fixed: set[Index] = set()

    # -- choices ------------------------------------------------------------------------------

    def options(self, i: Index) -> Sequence[Choice]:
        """All the choices that would meet the demand of case `i`, in the order of preference."""
        demand = self.demands[i]
        known = self._options.get(i)
        if known is None or known[0] is not demand:
            known = self._options[i] = demand, list(self._choices_for(i, demand))
        return known[1]

    def give_any(self, i: Index) -> bool:
        """Give the case, which has no choice, the first of its options that fits."""
        return any(self.give(i, choice) for choice in self._choices_for(i, self.demands[i]))

    def _choices_for(self, i: Index, demand: Demand) -> Iterator[Choice]:
        pool_of = self._pool_of

        def available(code: str, status: Status) -> bool:
            pool = pool_of.get(code)
            return pool is not None and pool.may_follow(i, status) != 0

        bundles = Bundles(
            self._group.cases[i],
            demand,
            self._group.fleet,
            available,
            lambda code: pool_of[code],
            as_little=True,
        )
        return (self._choice(i, demand, bundle) for bundle in bundles)

    def _choice(self, i: Index, demand: Demand, bundle: Bundle) -> Choice:
        """The choice that a bundle is an example of."""
        uses = []
        taken: dict[Pool, int] = {}
        for code, status in bundle.uses(demand):
            pool = self._pool_of[code]
            number = taken.get(pool, 0)
            uses.append((pool, pool.use(i, number), pool.may_follow(i, status)))
            taken[pool] = number + 1
        return Choice(bundle, tuple(uses))

    def pools_for(self, number: int, choices: Iterable[Choice]) -> set[Pool]:
        """The pools that serve a set in one of these choices."""
        return {self._pool_of[code] for choice in choices for code in choice.bundle.trays[number]}

    # -- giving and taking --------------------------------------------------------------------

    def give(self, i: Index, choice: Choice) -> bool:
        """Give a choice to a case that has none, beside all others; else `blocking` says who
        stands in the way."""
        for number, (pool, use, follows) in enumerate(choice.uses):
            blocking = pool.add(use, follows)
            if blocking is not None:
                self.blocking, self._refusing = blocking, pool
                for given, former, _ in choice.uses[:number]:
                    given.remove(former)
                return False
        self.choices[i] = choice
        return True

    def contested(self) -> tuple[Pool, Places]:
        """After a choice that could not be given: the pool, and the places that too many want."""
        assert self._refusing is not None
        return self._refusing, self._refusing.contested

    def take(self, i: Index) -> Choice:
        """Leave case `i` without a choice; what it had."""
        choice, self.choices[i] = self.choices[i], NOTHING
        for pool, use, _ in choice.uses:
            pool.remove(use)
        return choice

    def fits(self, i: Index, choice: Choice) -> bool:
        """Could the case, which has no choice, be given this one as things stand?"""
        if not self.give(i, choice):
            return False
        self.take(i)
        return True

    def fix(self, i: Index) -> None:
        """From now on case `i` keeps its choice, and the very trays that serve it."""
        self._fixed.add(i)
        for pool, use, _ in self.choices[i].uses:
            pool.fix(use)

    def movable(self) -> Sequence[Index]:
        return [i for i in range(len(self.choices)) if i not in self._fixed]

    def pool_of(self, code: str) -> Pool | None:
        """The pool of a tray; None where it can serve nobody."""
        return self._pool_of.get(code)

    def bundle(self, i: Index) -> Bundle:
        """What case `i` has, with the very trays that serve it at present."""
        choice = self.choices[i]
        codes = iter([pool.code_of(use) for pool, use, _ in choice.uses])
        former = choice.bundle
        return Bundle(
            former.options,
            {number: tuple([next(codes) for _ in one]) for number, one in former.trays.items()},
            {next(codes): status for status in former.packs.values()},
        )
