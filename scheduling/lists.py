"""Theatre lists as values: which cases run into each other, and how much slack is between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Slot:
    """One case on a list.  `fixed`: it has begun or is over, and stays where it is."""

    ref: str
    theatre: str
    start: datetime
    minutes: int
    fixed: bool = False

    @property
    def end(self) -> datetime:
        return self.start + timedelta(minutes=self.minutes)


@dataclass(frozen=True, slots=True)
class Gap:
    """Between two cases that follow each other in a theatre; `minutes` below 0: they overlap."""

    theatre: str
    first: str
    second: str
    minutes: int

    @property
    def is_clash(self) -> bool:
        return self.minutes < 0


def in_lists(slots: Iterable[Slot]) -> dict[str, tuple[Slot, ...]]:
    """By theatre, each list in time order; cases without a theatre are on none."""
    lists: dict[str, list[Slot]] = defaultdict(list)
    for slot in sorted(slots, key=lambda slot: (slot.theatre, slot.start, slot.ref)):
        if slot.theatre:
            lists[slot.theatre].append(slot)
    return {theatre: tuple(of_theatre) for theatre, of_theatre in lists.items()}


def gaps_between(slots: Iterable[Slot]) -> tuple[Gap, ...]:
    """A gap for every two that follow each other.  Against the latest end so far: a long case
    may run into the next but one."""
    found = []
    for theatre, of_theatre in in_lists(slots).items():
        last = of_theatre[0]
        for slot in of_theatre[1:]:
            minutes = int((slot.start - last.end).total_seconds() // 60)
            found.append(Gap(theatre, last.ref, slot.ref, minutes))
            last = max(last, slot, key=lambda one: one.end)
    return tuple(found)


def reordered(before: Sequence[Slot], order: Sequence[Slot]) -> tuple[Slot, ...]:
    """One theatre's list in another order; cases may have come from elsewhere or gone.

    The list begins when it began.  The pauses stay where they were in the day: the n-th case
    starts as long after the one before it as the n-th did; beyond them the last pause holds.
    What has begun stays.
    """
    pauses = [timedelta(0)] + [
        max(after.start - earlier.end, timedelta(0)) for earlier, after in pairwise(before)
    ]
    moved: list[Slot] = []
    for place, slot in enumerate(order):
        if not slot.fixed:
            begins = before[0].start if before else slot.start
            if moved:
                begins = moved[-1].end + pauses[min(place, len(pauses) - 1)]
            slot = replace(slot, start=begins)
        moved.append(slot)
    return tuple(moved)
