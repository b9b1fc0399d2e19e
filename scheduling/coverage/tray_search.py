"""Another arrangement, found by moving as few cases as it takes; or the proof that there is none.

The case that asks is given one of its choices.  Where that leaves others without a tray, one of
them is moved: to another choice that fits as things stand, or else it is decided next, among all
its choices, and may in its turn move others.  A choice that conflicts with cases decided so far is
no way; when a case has none left, the search goes back to the last decided case that was in one
of these conflicts.  Nothing is left out: back at the beginning, there is no arrangement.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from scheduling.coverage.tray_assignment import Assignment, Choice
from scheduling.coverage.tray_group import Index

STEP_LIMIT = 2_000
"""How many choices a search may try before it gives up."""


class GaveUp(Exception):
    """The search reached its limit: neither found nor excluded."""


@dataclass(slots=True)
class _Decided:
    """A case being decided.  `mark`: how much had been done before; `conflict`: the cases decided
    before it that stood in the way of one of its choices."""

    case: Index
    choices: Iterator[Choice]
    mark: int
    conflict: set[Index] = field(default_factory=set)


class Search:
    """One search.  It changes the assignment if it succeeds, and leaves it as it was if not.

    `first`: cases whose use of a tray may spare later ones its reprocessing.  Taking a tray from
    them may do harm, so they stay as they are, unless `from_scratch`: then all cases are decided
    anew, these before the others.
    """

    def __init__(
        self,
        assignment: Assignment,
        first: Iterable[Index] = (),
        *,
        from_scratch: bool = False,
        limit: int | None = None,
    ) -> None:
        self._assignment = assignment
        self._first = frozenset(first)
        self._from_scratch = from_scratch
        self._steps_left = STEP_LIMIT if limit is None else limit
        self._asking: Index = -1
        self._choices: Sequence[Choice] = ()
        self._deciding: list[_Decided] = []
        self._decided: set[Index] = set()
        self._waiting: set[Index] = set()
        """The cases without a choice that are to have one."""
        self._done: list[tuple[Index, Choice | None]] = []
        """To be undone, the last first: the case, and the choice taken from it; None: given."""
        self.conflict: frozenset[Index] = frozenset()
        """After a search in vain: cases that cannot all have what they ask for."""

    def run(self, asking: Index, choices: Sequence[Choice]) -> bool:
        """Give case `asking` one of `choices`, and every other case one of its own.

        GaveUp where neither this nor its impossibility is found within the limit.
        """
        self._asking, self._choices = asking, choices
        if self._from_scratch:
            for i in reversed(self._assignment.movable()):
                self._take(i)
        else:
            self._take(asking)
            self._decided |= self._first
        self._decide(self._next())
        while self._deciding:
            deciding = self._deciding[-1]
            choice = next(deciding.choices, None)
            if choice is None:
                self._go_back()
                continue
            self._steps_left -= 1
            if self._steps_left < 0:
                self._undo(0)
                raise GaveUp
            if not self._give(deciding, choice):
                self._undo(deciding.mark)
            elif not self._waiting:
                return True
            else:
                self._decide(self._next())
        self._undo(0)
        return False

    # -- deciding -----------------------------------------------------------------------------

    def _next(self) -> Index:
        """The case to decide next: of those that come first the earliest, the one that asks,
        then whoever has the fewest choices."""
        return min(
            self._waiting,
            key=lambda i: (i not in self._first, i != self._asking, len(self._options(i)), i),
        )

    def _options(self, i: Index) -> Sequence[Choice]:
        return self._choices if i == self._asking else self._assignment.options(i)

    def _decide(self, i: Index) -> None:
        """Of the choices, one that fits as things stand comes first."""
        options = self._options(i)
        fits = next((n for n, choice in enumerate(options) if self._assignment.fits(i, choice)), 0)
        choices = [*options[fits : fits + 1], *options[:fits], *options[fits + 1 :]]
        self._deciding.append(_Decided(i, iter(choices), len(self._done)))
        self._decided.add(i)

    def _go_back(self) -> None:
        """The last case has no choice left: back to the last one that was in its way."""
        failed = self._deciding.pop()
        conflict = failed.conflict
        self._decided.discard(failed.case)
        while self._deciding and self._deciding[-1].case not in conflict:
            self._decided.discard(self._deciding.pop().case)
        if not self._deciding:
            self.conflict = frozenset({failed.case, *conflict})
            return
        back = self._deciding[-1]
        self._undo(back.mark)
        back.conflict |= conflict - {back.case}

    # -- giving and taking --------------------------------------------------------------------

    def _give(self, deciding: _Decided, choice: Choice) -> bool:
        """Give a choice to the case being decided, moving undecided cases where it must be."""
        while not self._try(deciding.case, choice):
            blocking = self._assignment.blocking
            movable = sorted(blocking - self._decided)
            if not movable:
                deciding.conflict |= (blocking | self._first & self._decided) - {deciding.case}
                return False
            if self._move_one(movable, deciding.case, choice):
                return True
        return True

    def _move_one(self, movable: Sequence[Index], i: Index, choice: Choice) -> bool:
        """Move one case so that `i` can have its choice: the first that can have another one as
        things stand.  Without such a one, take from the one with the most choices what it has.
        """
        options = self._assignment.options
        for other in movable:
            mark = len(self._done)
            self._take(other)
            if self._try(i, choice) and any(self._try(other, option) for option in options(other)):
                return True
            self._undo(mark)
        self._take(max(movable, key=lambda other: (len(options(other)), other)))
        return False

    def _try(self, i: Index, choice: Choice) -> bool:
        if not self._assignment.give(i, choice):
            return False
        self._done.append((i, None))
        self._waiting.discard(i)
        return True

    def _take(self, i: Index) -> None:
        self._done.append((i, self._assignment.take(i)))
        self._waiting.add(i)

    def _undo(self, mark: int) -> None:
        while len(self._done) > mark:
            i, taken = self._done.pop()
            if taken is None:
                self._assignment.take(i)
                self._waiting.add(i)
            else:
                given = self._assignment.give(i, taken)
                assert given, "what was there before is there no more"
                self._waiting.discard(i)
