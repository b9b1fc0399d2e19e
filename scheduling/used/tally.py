"""Uses counted by whatever they have in common.  Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Use:
    """One box that a case used up.  `why`: of a wasted one, the reason from theatre's list.

    `day` is local.  `case` and `surgeon` are empty where no case of the site has the reference.
    `settled`: what followed, empty while it is open.  `received` False: never received here.
    """

    day: date
    case: str
    surgeon: str
    wasted: bool
    why: str
    note: str
    role: str
    words: str
    ref: str
    lot: str
    serial: str
    owner: str
    code: str
    settled: str
    received: bool = True

    @property
    def month(self) -> date:
        return self.day.replace(day=1)


@dataclass(frozen=True, slots=True)
class Count:
    """`of`: what is counted.  Every box is either implanted or wasted."""

    of: object
    implanted: int
    wasted: int

    @property
    def opened(self) -> int:
        return self.implanted + self.wasted


def count(uses: Iterable[Use], by: Callable[[Use], object]) -> list[Count]:
    """In the order in which each is met first."""
    found: dict[object, list[int]] = {}
    for use in uses:
        found.setdefault(by(use), [0, 0])[use.wasted] += 1
    return [Count(of, implanted, wasted) for of, (implanted, wasted) in found.items()]


def by_month(uses: Iterable[Use]) -> list[Count]:
    return count(sorted(uses, key=lambda use: use.month), lambda use: use.month)


def most_wasted_first(counts: Iterable[Count]) -> list[Count]:
    return sorted(counts, key=lambda one: (-one.wasted, -one.implanted, str(one.of)))
