"""Which box to buy next: the one that leaves the fewest uses waiting.

The expected number of uses that wait, over all items together, is a sum of one convex function an
item, so that taking the best single box again and again is best for any number of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext

from implants.par.poisson import DIGITS, at_most


@dataclass(frozen=True, slots=True)
class NextBox:
    """One more box of `ref`, for which the level was `level`, takes `gain` uses off the wait."""

    ref: str
    level: int
    gain: Decimal


def gain_of_one_more(level: int, mean: Decimal) -> Decimal:
    """E[(X − S)+] − E[(X − S − 1)+] = P(X > S)."""
    with localcontext(DIGITS):
        return Decimal(1) - at_most(level, mean)


def next_boxes(
    levels: Mapping[str, int], means: Mapping[str, Decimal], number: int
) -> list[NextBox]:
    """The best `number` boxes, in the order in which to buy them; of equals the first REF.

    Items without a level count as 0; fewer boxes where no item has any demand.
    """
    now = {ref: levels.get(ref, 0) for ref in means}
    gains = {ref: gain_of_one_more(now[ref], means[ref]) for ref in means}
    chosen = []
    for _ in range(number):
        best = min(gains, key=lambda ref: (-gains[ref], ref), default=None)
        if best is None or gains[best] <= 0:
            break
        chosen.append(NextBox(best, now[best], gains[best]))
        now[best] += 1
        gains[best] = gain_of_one_more(now[best], means[best])
    return chosen
