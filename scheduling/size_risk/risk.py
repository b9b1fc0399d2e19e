"""The chance, case by case, that the size finally used is on the shelf.  Exact; pure.

Cases come in order.  Each uses a size of its own, independently of the others, takes a box of that
size if there is one left, and goes without if there is none.  So the boxes of one size concern only
the number of cases before that used this very size, and everything but the chance that *all* find
theirs is reckoned size by size.

It is a figure about ordering.  It is never shown beside a verdict and never changes one; the chance
for all misleads on long lists, so show it case by case.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.size_risk.difference import Difference
from scheduling.size_risk.faults import refuse

Rung = int
"""A size by its place on the ladder that is made."""


@dataclass(frozen=True, slots=True)
class SizeRisk:
    """`finds`: for each case in order the chance that its size is there; `without`: the expected
    number of cases without their size; `all_find`: the chance that no case is."""

    finds: tuple[float, ...]
    without: float
    all_find: float


def size_risk(
    planned: Sequence[Rung], units: Mapping[Rung, int], differences: Sequence[Difference]
) -> SizeRisk:
    """The risk for cases planned on these sizes, in the order in which they operate.

    `differences`: of each case its own.  `units`: boxes by size, every size that is made; of a size
    left out there is none to be had.
    SizeRiskFaults where a number of units is negative.  Cost: cases × sizes × units, and for
    `all_find` cases × the states of the boxes within one reach of sizes.
    """
    refuse_units(units)
    used = [
        sizes_used(size, difference) for size, difference in zip(planned, differences, strict=True)
    ]
    so_far: dict[Rung, list[float]] = defaultdict(lambda: [1.0])
    finds = []
    for chances in used:
        finds.append(
            math.fsum(
                chance * math.fsum(so_far[size][: units.get(size, 0)])
                for size, chance in chances.items()
            )
        )
        for size, chance in chances.items():
            so_far[size] = one_more(so_far[size], chance)
    return SizeRisk(
        finds=tuple(finds),
        without=math.fsum(1 - chance for chance in finds),
        all_find=_all_find(used, units),
    )


def refuse_units(units: Mapping[Rung, int]) -> None:
    refuse(
        f"units[{size}]: not a number of boxes: {number}"
        for size, number in units.items()
        if number < 0
    )


def sizes_used(planned: Rung, difference: Difference) -> dict[Rung, float]:
    """The sizes that a case may use, each with its chance."""
    return {planned + rungs: chance for rungs, chance in difference.chances.items()}


def one_more(counts: Sequence[float], chance: float) -> list[float]:
    """The distribution of a number of cases (by number), with one more that counts by chance."""
    return [
        stays * (1 - chance) + comes * chance
        for stays, comes in zip([*counts, 0.0], [0.0, *counts], strict=True)
    ]


def _all_find(used: Sequence[Mapping[Rung, float]], units: Mapping[Rung, int]) -> float:
    """The chance that every case finds its size.

    Whoever comes first, all find theirs or not; so the cases may be taken from the smallest size
    up, and the boxes that no later case can want are forgotten.
    """
    in_order = sorted(used, key=min)
    wanting = [_wanting(in_order[place:]) for place in range(len(in_order) + 1)]
    # A state: the boxes left of each size that is still wanted, in the order of the sizes; more
    # than could be wanted is as good as that many.
    states = {tuple(min(units.get(size, 0), most) for size, most in wanting[0].items()): 1.0}
    for chances, now, later in zip(in_order, wanting, wanting[1:], strict=False):
        places = {size: place for place, size in enumerate(now)}
        choices = [(places[size], chance) for size, chance in chances.items()]
        kept = [(places[size], most) for size, most in later.items()]
        following: dict[tuple[int, ...], float] = defaultdict(float)
        for state, probability in states.items():
            for taken, chance in choices:
                if state[taken]:
                    after = tuple(
                        min(state[place] - (place == taken), most) for place, most in kept
                    )
                    following[after] += probability * chance
        states = following
    return math.fsum(states.values())


def _wanting(cases: Sequence[Mapping[Rung, float]]) -> dict[Rung, int]:
    """How many of the cases may want each size, in the order of the sizes."""
    return dict(sorted(Counter(size for chances in cases for size in chances).items()))
