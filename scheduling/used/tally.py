"""Uses counted by whatever they have in common.  Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from implants.cost import Boxes


@dataclass(frozen=True, slots=True)
class Use:
    """One box that a case used up.  `why`: of a wasted one, the reason from theatre's list.

    `day` is local.  `case` and `surgeon` are empty where no case of the site has the reference.
    `settled`: what followed, empty while it is open.  `received` False: never received here.
    `price`: what is agreed for its REF now, in the house's currency; None: nothing.
    """

    day: date
    case: str
    surgeon: str
    wasted: bool
    why: str
    note: str
    line: str
    words: str
    ref: str
    lot: str
    serial: str
    owner: str
    code: str
    settled: str
    price: Decimal | None = None
    received: bool = True

    @property
    def month(self) -> date:
        return self.day.replace(day=1)


@dataclass(frozen=True, slots=True)
class Count:
    """`of`: what is counted.  Every box is either implanted or wasted."""

    of: object
    implanted: Boxes
    wasted: Boxes

    @property
    def opened(self) -> int:
        return self.implanted.number + self.wasted.number


def count(uses: Iterable[Use], by: Callable[[Use], object]) -> list[Count]:
    """In the order in which each is met first."""
    found: dict[object, list[Boxes]] = {}
    for use in uses:
        both = found.setdefault(by(use), [Boxes(), Boxes()])
        both[use.wasted] = both[use.wasted].and_one(use.price)
    return [Count(of, implanted, wasted) for of, (implanted, wasted) in found.items()]


def by_month(uses: Iterable[Use]) -> list[Count]:
    return count(sorted(uses, key=lambda use: use.month), lambda use: use.month)


def most_wasted_first(counts: Iterable[Count]) -> list[Count]:
    return sorted(counts, key=lambda one: (-one.wasted.number, -one.implanted.number, str(one.of)))
