"""Size risk by trying every way in which the sizes may fall; slow, and shares no code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from random import Random

from scheduling.size_risk.difference import Basis, Difference


def enumerated(
    planned: Sequence[int], units: Mapping[int, int], differences: Sequence[Difference]
) -> tuple[list[float], float, float]:
    """For each case the chance that it finds its size; the expected number without; all find."""
    finds = [0.0] * len(planned)
    without = all_find = 0.0
    for fallen in product(*(difference.chances.items() for difference in differences)):
        probability = 1.0
        left = dict(units)
        missed = 0
        found = []
        for size, (rungs, chance) in zip(planned, fallen, strict=True):
            probability *= chance
            there = left.get(size + rungs, 0) > 0
            found.append(there)
            if there:
                left[size + rungs] -= 1
            else:
                missed += 1
        for place, there in enumerate(found):
            finds[place] += probability * there
        without += probability * missed
        all_find += probability * (missed == 0)
    return finds, without, all_find


def drawn(random: Random) -> tuple[list[int], dict[int, int], list[Difference]]:
    """A few cases of one or two surgeons on a short ladder with few boxes; sizes may fall off the
    ladder's ends."""
    planned = [random.randint(1, 5) for _ in range(random.randint(0, 5))]
    units = {size: random.randint(0, 2) for size in range(1, 6)}
    surgeons = [_difference(random), _difference(random)]
    return planned, units, [random.choice(surgeons) for _ in planned]


def _difference(random: Random) -> Difference:
    weights = {rungs: random.randint(0, 5) for rungs in (-2, -1, 0, 1)}
    weights[0] += 1
    total = sum(weights.values())
    chances = {rungs: weight / total for rungs, weight in weights.items() if weight}
    return Difference(chances, Basis.PRIOR)
