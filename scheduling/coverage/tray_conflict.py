"""The smallest set of cases and trays that conflict: why a claim on trays is refused.

None of the cases could be left out: without it the others could all be served.  It is looked for
among the cases nearest in time first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from scheduling.coverage.tray_group import Group, Index


@dataclass(frozen=True, slots=True)
class Conflict:
    """`cases` (in time order) cannot all be served from `trays` (by code), which are all that
    could serve any of them."""

    cases: tuple[Index, ...]
    trays: tuple[str, ...]


def smallest(conflicts: Iterable[Conflict]) -> Conflict | None:
    return min(conflicts, key=lambda c: (len(c.cases), len(c.trays), c.cases), default=None)


def nearest_first(group: Group, i: Index, others: Iterable[Index]) -> list[Index]:
    """The others by how far from case `i` they start."""
    start = group.cases[i].needed_by

    def distance(other: Index) -> tuple[int, Index]:
        return abs(group.cases[other].needed_by - start), other

    return sorted((other for other in others if other != i), key=distance)


def least_conflict(
    i: Index, others: Sequence[Index], conflict: Callable[[Sequence[Index]], bool]
) -> tuple[Index, ...] | None:
    """Case `i` and as few of the others, the first of them by choice, as conflict; None where all
    of them do not.

    `conflict`: a conflict stays one with more cases.  Cost: of twice as many others as are needed,
    each is left out once to try.
    """
    several = 0
    while not conflict([i, *others[:several]]):
        if several >= len(others):
            return None
        several = max(1, 2 * several)
    needed = list(others[:several])
    for other in reversed(needed[:]):
        without = [one for one in needed if one != other]
        if conflict([i, *without]):
            needed = without
    return tuple(sorted([i, *needed]))
