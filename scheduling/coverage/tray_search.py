"""Is there an arrangement that meets all demands of a group?  An exact search, in time order.

Cases are decided in time order.  What the trays can still do for the rest depends only on when
each is free again, and trays that are alike are interchangeable; so the cases decided so far can
be forgotten but for that state, and a state from which the rest could not be arranged is never
entered twice.  Bundles are tried in the order of preference, so the first arrangement found is the
one to show.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduling.coverage.report import Status
from scheduling.coverage.tray_bundles import Bundle, Bundles, Demand
from scheduling.coverage.tray_group import Group, Index

STEP_LIMIT = 50_000
"""How many bundles a search may try before it gives up."""


class GaveUp(Exception):
    """The search reached its limit: neither found nor excluded."""


def arrange(
    group: Group, demands: Sequence[Demand], limit: int = STEP_LIMIT
) -> list[Bundle] | None:
    """The preferred arrangement, one bundle a case, or None where there is none.

    GaveUp after `limit` steps.
    """
    return _Search(group, demands, limit).run()


class _Search:
    def __init__(self, group: Group, demands: Sequence[Demand], limit: int) -> None:
        self._group = group
        self._demands = demands
        self._steps_left = limit
        self._last: dict[str, Index] = {}
        self._dead_ends: set[tuple[Index, object]] = set()

    def run(self) -> list[Bundle] | None:
        chosen: list[Bundle] = []
        undo: list[list[tuple[str, Index | None]]] = []
        trying: list[Iterator[Bundle]] = [iter(self._bundles(0))]
        states: list[object] = [self._state(0)]
        while trying:
            i = len(chosen)
            bundle = next(trying[-1], None) if i < len(self._demands) else None
            if i == len(self._demands):
                return chosen
            if bundle is None:
                self._dead_ends.add((i, states.pop()))
                trying.pop()
                if chosen:
                    chosen.pop()
                    self._take_back(undo.pop())
                continue
            self._steps_left -= 1
            if self._steps_left < 0:
                raise GaveUp
            taken = self._take(i, bundle)
            state = self._state(i + 1)
            if (i + 1, state) in self._dead_ends:
                self._take_back(taken)
                continue
            chosen.append(bundle)
            undo.append(taken)
            states.append(state)
            trying.append(iter(self._bundles(i + 1)))
        return None

    def _take(self, i: Index, bundle: Bundle) -> list[tuple[str, Index | None]]:
        taken = []
        for code, _ in bundle.uses(self._demands[i]):
            taken.append((code, self._last.get(code)))
            self._last[code] = i
        return taken

    def _take_back(self, taken: list[tuple[str, Index | None]]) -> None:
        for code, before in taken:
            if before is None:
                del self._last[code]
            else:
                self._last[code] = before

    def _bundles(self, i: Index) -> Iterator[Bundle]:
        if i == len(self._demands):
            return iter(())

        def available(code: str, status: Status) -> bool:
            return self._group.may_serve(code, i, status, self._last.get(code))

        def alike(code: str) -> object:
            return self._group.alike(code), self._readiness(code, i)

        group = self._group
        return iter(Bundles(group.cases[i], self._demands[i], group.fleet, available, alike))

    def _readiness(self, code: str, i: Index) -> tuple[Index, Index] | None:
        """When a tray is free again, as seen from case `i`: None stands for "as if never used
        and always ready", (-1, -1) for unused but not ready for all."""
        last = self._last.get(code)
        if last is None:
            return None if self._group.always_ready(code, i) else (-1, -1)
        standard, fast = self._group.again(code, last)
        if standard <= i and self._group.always_ready(code, i):
            return None
        return max(standard, i), max(fast, i)

    def _state(self, i: Index) -> object:
        """All that the cases from `i` on can notice of what was decided before them."""
        seen = []
        for code in self._last:
            configuration = self._group.fleet.facts[code].configuration.code
            if self._group.last_wanted.get(configuration, -1) < i:
                continue
            readiness = self._readiness(code, i)
            if readiness is not None:
                seen.append((self._group.alike(code), readiness))
        seen.sort()
        return tuple(seen)
