"""Is there an arrangement that meets all demands of a group?  An exact search, in time order.

Cases are decided in time order.  What the trays can still do for the rest depends only on when
each is free again, and trays that are alike are interchangeable; so the cases decided so far can
be forgotten but for that state, and a state from which the rest could not be arranged is never
entered twice.  Bundles are tried in the order of preference, so the first arrangement found is the
one to show.

A search may be confined to a window of cases.  Without the cases outside it is a relaxation: no
arrangement in the window, none at all.  Between them as they now stand it is a repair: what is
found there fits the whole.  Most claims are settled by a small window; the whole group decides
the rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduling.coverage.report import Status
from scheduling.coverage.tray_bundles import Bundle, Bundles, Demand
from scheduling.coverage.tray_group import Group, Index

STEP_LIMIT = 50_000
"""How many bundles a search may try before it gives up."""

Use = tuple[Index, Status]
"""One use of a tray: the case that it serves, and the status with which it does."""


class GaveUp(Exception):
    """The search reached its limit: neither found nor excluded."""


def arrange(
    group: Group,
    demands: Sequence[Demand],
    window: range | None = None,
    others: Mapping[str, Sequence[Use]] | None = None,
    limit: int = STEP_LIMIT,
) -> list[Bundle] | None:
    """The preferred arrangement of the window's cases (all by default), one bundle a case.

    `others`: tray → its uses by cases outside the window, in time order, which stay as they are.
    None where there is no arrangement.  GaveUp after `limit` steps.
    """
    window = range(len(demands)) if window is None else window
    return _Search(group, demands, window, others or {}, limit).run()


class _Search:
    def __init__(
        self,
        group: Group,
        demands: Sequence[Demand],
        window: range,
        others: Mapping[str, Sequence[Use]],
        limit: int,
    ) -> None:
        self._group = group
        self._demands = demands
        self._window = window
        self._steps_left = limit
        # The case that each tray served last, and the first that it serves after the window.
        self._last: dict[str, Index] = {}
        self._following: dict[str, Use] = {}
        for code, uses in others.items():
            for use in uses:
                if use[0] < window.start:
                    self._last[code] = use[0]
                elif use[0] >= window.stop:
                    self._following[code] = use
                    break
        self._dead_ends: set[tuple[Index, object]] = set()

    def run(self) -> list[Bundle] | None:
        first, stop = self._window.start, self._window.stop
        chosen: list[Bundle] = []
        undo: list[list[tuple[str, Index | None]]] = []
        trying: list[Iterator[Bundle]] = [self._bundles(first)]
        states: list[object] = [self._state(first)]
        while trying:
            i = first + len(chosen)
            if i == stop and self._following_served():
                return chosen
            bundle = next(trying[-1], None) if i < stop else None
            if bundle is None:
                if i < stop:
                    self._dead_ends.add((i, states[-1]))
                states.pop()
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
            trying.append(self._bundles(i + 1))
        return None

    def _following_served(self) -> bool:
        """Do the trays still serve whom they serve after the window?  (Checked at each use; here
        for the trays that the window no longer uses.)"""
        return all(
            self._group.may_serve(code, use[0], use[1], self._last.get(code))
            for code, use in self._following.items()
        )

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
        if i == self._window.stop:
            return iter(())
        group, last_of, following = self._group, self._last, self._following

        def available(code: str, status: Status) -> bool:
            if not group.may_serve(code, i, status, last_of.get(code)):
                return False
            use = following.get(code)
            return use is None or group.may_serve(code, use[0], use[1], i)

        def alike(code: str) -> object:
            return group.alike(code), self._readiness(code, i), following.get(code)

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
        group, following = self._group, self._following
        seen = []
        for code in self._last:
            if group.last_wanted_of(code) < i and code not in following:
                continue
            readiness = self._readiness(code, i)
            if readiness is not None:
                seen.append((group.alike(code), following.get(code, (-1,))[0], readiness))
        seen.sort()
        return tuple(seen)
