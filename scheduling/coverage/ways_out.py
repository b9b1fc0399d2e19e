"""What can still be done for a case that is not covered: each way tried, with what it costs others.

A way is a change that makes the case's verdict better when everything is decided again.  Kinds,
cheapest first: `Cost`.  One way may not be enough: for each gap the cheapest step that closes it is
kept, and all such steps together are tried too, without those that turn out not to be needed.
Where nothing makes the verdict better, the steps that close at least a gap are given (`partial`).

Of two verdicts a way speaks as of the moment when it is carried out (`then`), and, where something
must be received first, as of now that it is asked for (`meanwhile`): what has not arrived is never
counted as held.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

from scheduling.coverage.changes import (
    AddPacks,
    Awaited,
    Change,
    FastTrack,
    LoanBy,
    MoveCase,
    OrderUnits,
    ReleaseReservation,
    Step,
    SwapTrays,
    Together,
    UnitBy,
    UseOption,
)
from scheduling.coverage.engine import Decision
from scheduling.coverage.report import Verdict
from scheduling.coverage.values import Need
from scheduling.coverage.ways_out_implants import awaited_boxes, orders, release_units
from scheduling.coverage.ways_out_search import Attempt, Search, TriedEnough
from scheduling.coverage.ways_out_start import later_starts, postponed_for_orders
from scheduling.coverage.ways_out_trays import fast_tracks, loans, packs, release_trays, swaps
from scheduling.coverage.whatif import Difference, Gap, rank


class Cost(IntEnum):
    """What a kind of way asks of the house, least first."""

    USE_OPTION = 1
    SWAP = 2
    RELEASE = 3
    ADD_PACK = 4
    FAST_TRACK = 5
    BOX_SOONER = 6
    ORDER = 7
    LOAN = 8
    MOVE = 9


_COST: Mapping[type[Step], Cost] = {
    UseOption: Cost.USE_OPTION,
    SwapTrays: Cost.SWAP,
    ReleaseReservation: Cost.RELEASE,
    AddPacks: Cost.ADD_PACK,
    FastTrack: Cost.FAST_TRACK,
    UnitBy: Cost.BOX_SOONER,
    OrderUnits: Cost.ORDER,
    LoanBy: Cost.LOAN,
    MoveCase: Cost.MOVE,
}


@dataclass(frozen=True, slots=True)
class Way:
    """One way out.

    `before`: the case's verdict now.  `then`: the verdict of every case whose verdict changes, once
    the way is carried out; where a way is `partial`, the case itself is not among them.
    `meanwhile`: the same while what must be received is only on its way; None where nothing is
    awaited.  `closes`: what the case then holds, or holds more of.  `costs`: other cases that come
    off worse, by their verdict or by what they hold.
    """

    case: str
    change: Change
    before: Verdict
    then: Mapping[str, Verdict]
    meanwhile: Mapping[str, Verdict] | None
    closes: tuple[Gap, ...]
    costs: tuple[str, ...]
    partial: bool = False


@dataclass(frozen=True, slots=True)
class WaysOut:
    """`complete`: everything that there is to try was tried, within `MOST_TRIES`."""

    case: str
    ways: tuple[Way, ...]
    tries: int
    complete: bool


def ways_out(decision: Decision, ref: str) -> WaysOut:
    """The ways out for one case, those that cost nobody anything first, then cheapest first.

    None for a case that is covered, and none for one whose plan has a fault: that is mended in the
    plan.  KeyError where the scenario has no such case.  Cost: at most `MOST_TRIES` decisions that
    take over from `decision`.
    """
    search = Search(decision, ref)
    if search.report.faults or not search.gaps:
        return WaysOut(ref, (), tries=0, complete=True)
    tried = _Tried(search)
    complete = True
    try:
        tried.run()
    except TriedEnough:
        complete = False
    return WaysOut(ref, tried.ways(), search.tries, complete)


class _Tried:
    """What was found until now, in the order found."""

    def __init__(self, search: Search) -> None:
        self._search = search
        self._found: list[Attempt] = []
        self._ways: dict[Change, Way] = {}

    def run(self) -> None:
        for finder in self._finders():
            for attempt in finder(self._search):
                self._found.append(attempt)
                if self._search.improves(attempt):
                    self._keep(attempt)
        self._combine()
        if not self._ways:
            for attempt in self._found:
                if not _moves(attempt.change):
                    self._keep(attempt, partial=True)

    def ways(self) -> tuple[Way, ...]:
        return tuple(sorted(self._ways.values(), key=_order))

    def _finders(self) -> Sequence[Callable[[Search], Iterator[Attempt]]]:
        """For a case that lacks no more than a spare, only what brings one: nobody moves a case,
        or takes from another, for that."""
        if all(need is Need.SPARE for need, _ in self._search.gaps):
            return (awaited_boxes, orders)
        return (
            release_trays,
            release_units,
            swaps,
            packs,
            fast_tracks,
            awaited_boxes,
            orders,
            loans,
            later_starts,
            postponed_for_orders,
        )

    def _keep(self, attempt: Attempt, *, partial: bool = False) -> None:
        if attempt.change in self._ways:
            return
        own = attempt.difference.case(self._search.case.ref)
        meanwhile = None
        if isinstance(attempt.change, Together | Awaited) and _awaits(attempt.change):
            asked = attempt.change.meanwhile()
            meanwhile = _verdicts(self._search.decide(asked.applied(self._search.scenario)))
        self._ways[attempt.change] = Way(
            case=self._search.case.ref,
            change=attempt.change,
            before=self._search.report.verdict,
            then=_verdicts(attempt.difference),
            meanwhile=meanwhile,
            closes=own.better if own else (),
            costs=tuple(ref for ref in attempt.difference.worsened if ref != self._search.case.ref),
            partial=partial,
        )

    # -- several steps together -----------------------------------------------------------------

    def _combine(self) -> None:
        """The cheapest step for each gap, all together; then without each in turn."""
        best = min((rank(way.then[way.case]) for way in self._ways.values()), default=None)
        steps = self._steps()
        if len(steps) < 2:
            return
        attempt = self._search.attempt(Together(tuple(steps)))
        if attempt is None or not self._search.improves(attempt):
            return
        if best is not None and rank(attempt.verdict) >= best:
            return
        for step in reversed(steps[:]):
            fewer = [other for other in steps if other != step]
            if len(fewer) < 2:
                break
            without = self._search.attempt(Together(tuple(fewer)))
            if without is not None and without.verdict is attempt.verdict:
                steps, attempt = fewer, without
        self._keep(attempt)

    def _steps(self) -> list[Step]:
        steps: list[Step] = []
        for gap in self._search.gaps:
            helping = [
                attempt
                for attempt in self._found
                if attempt.leaves(gap) < self._search.gaps[gap]
                and not _moves(attempt.change)
                and not attempt.difference.worsened
            ]
            if helping:
                cheapest = min(
                    helping, key=lambda attempt: (attempt.leaves(gap), _cost(attempt.change))
                )
                steps += [step for step in _steps_of(cheapest.change) if step not in steps]
        return sorted(steps, key=lambda step: _COST[type(step)])


def _verdicts(difference: Difference) -> Mapping[str, Verdict]:
    """The verdicts that change, of the cases that are still booked."""
    return {ref: after for ref, (_, after) in difference.verdicts.items() if after is not None}


def _steps_of(change: Change) -> tuple[Step, ...]:
    return change.steps if isinstance(change, Together) else (change,)


def _moves(change: Change) -> bool:
    return any(isinstance(step, MoveCase) for step in _steps_of(change))


def _awaits(change: Change) -> bool:
    return any(isinstance(step, Awaited) for step in _steps_of(change))


def _cost(change: Change) -> tuple[int, int]:
    steps = _steps_of(change)
    return len(steps), max(_COST[type(step)] for step in steps)


def _order(way: Way) -> tuple[bool, bool, tuple[int, int], int, float, str]:
    """Ways that cost others something come after those that do not; the earlier start first."""
    start = way.change.start.timestamp() if isinstance(way.change, MoveCase) else 0.0
    return (
        way.partial,
        bool(way.costs),
        _cost(way.change),
        rank(way.then.get(way.case, way.before)),
        start,
        repr(way.change),
    )
