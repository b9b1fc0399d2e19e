"""The present arrangement of a group: every case's bundle, honouring all that was promised.

It is the proof that all promises can be kept together, and changes when a new one asks for it.  A
new promise is looked for in windows of cases around the one that asks, from that case alone to
the whole group: refused as soon as a window cannot be arranged even without the cases outside it,
let in as soon as one can be arranged between them.
"""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Iterator, Sequence

from scheduling.coverage.report import Status
from scheduling.coverage.tray_bundles import Bundle, Demand
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_search import GaveUp, Use, arrange


class Arrangement:
    """`demands`: what each case of the group has been promised."""

    def __init__(self, group: Group) -> None:
        self._group = group
        self.demands = [Demand() for _ in group.cases]
        self._bundles = [Bundle() for _ in group.cases]
        self._uses: dict[str, list[Use]] = defaultdict(list)

    # -- questions ----------------------------------------------------------------------------

    def holds(self, i: Index, ref: str, status: Status) -> int:
        """How many of an instrument the case's trays and packs hold: trays whatever the status
        of their set, packs used with `status` or better."""
        facts, bundle = self._group.fleet.facts, self._bundles[i]
        trays = sum(
            facts[code].contents.get(ref, 0) for codes in bundle.trays.values() for code in codes
        )
        return trays + sum(
            facts[code].contents.get(ref, 0)
            for code, used in bundle.packs.items()
            if used is Status.HELD or status is Status.CONDITIONAL
        )

    def could_hold(self, i: Index, ref: str, quantity: int) -> bool:
        """Would the fullest trays of the case's sets and every pack hold so many?"""
        fleet = self._group.fleet
        most = sum(fleet.facts[code].contents[ref] for code in fleet.packs_with.get(ref, ()))
        for number in self.demands[i].sets:
            most += max(
                sum(fleet.most_in(configuration, ref) for configuration in option)
                for option in self._group.cases[i].needs.sets[number].options
            )
        return most >= quantity

    # -- promises -----------------------------------------------------------------------------

    def let_in(self, i: Index, demand: Demand) -> bool:
        """Make case `i`'s demand `demand` if all can still be honoured; else change nothing.

        GaveUp where the search does.
        """
        before = self.demands[i]
        self.demands[i] = demand
        try:
            found = self._look_around(i)
        except GaveUp:
            self.demands[i] = before
            raise
        if not found:
            self.demands[i] = before
        return found

    def _look_around(self, i: Index) -> bool:
        for window in self._windows(i):
            if arrange(self._group, self.demands, window) is None:
                return False
            others = self._others(window)
            bundles = arrange(self._group, self.demands, window, others)
            if bundles is not None:
                self._put(window, bundles)
                return True
        return False

    def _windows(self, i: Index) -> Iterator[range]:
        """Windows around case `i`, four times as wide each time, the whole group last."""
        size = len(self._group.cases)
        radius = 0
        while not self._group.cases_spare_each_other and 2 * radius + 1 < size:
            yield range(max(0, i - radius), min(size, i + radius + 1))
            radius = 4 * radius or 3
        yield range(size)

    def _others(self, window: range) -> dict[str, list[Use]]:
        """The uses by cases outside the window."""
        return {
            code: others
            for code, uses in self._uses.items()
            if (others := [use for use in uses if use[0] not in window])
        }

    def _put(self, window: range, bundles: Sequence[Bundle]) -> None:
        for i, bundle in zip(window, bundles, strict=True):
            for code in self._bundles[i].codes():
                self._uses[code] = [use for use in self._uses[code] if use[0] != i]
            for code, status in bundle.uses(self.demands[i]):
                insort(self._uses[code], (i, status), key=lambda use: use[0])
            self._bundles[i] = bundle

    def preferred(self) -> Sequence[Bundle]:
        """The arrangement to show; where the search for it gives up, the present one."""
        try:
            return arrange(self._group, self.demands) or self._bundles
        except GaveUp:
            return self._bundles
