"""Which boxes to buy next: each the one that leaves the fewest cases without their size.

The expected number of cases without their size is Σ E[(N − c)+] over the sizes (N cases use the
size, c boxes are there): one size's boxes do not touch another's, and each further box of a size
helps less than the one before.  So taking the best box, again and again, is best for any number
of boxes.  The same is not true of the chance that all cases find theirs.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.size_risk.difference import Difference
from scheduling.size_risk.faults import refuse
from scheduling.size_risk.risk import Rung, one_more, refuse_units, sizes_used


@dataclass(frozen=True, slots=True)
class NextUnit:
    """One more box of `size`, and by how much it lowers the expected number of cases without
    their size."""

    size: Rung
    helps: float


def next_units(
    planned: Sequence[Rung],
    units: Mapping[Rung, int],
    differences: Sequence[Difference],
    number: int,
) -> list[NextUnit]:
    """The best `number` of boxes to buy, in order; fewer where a further one helps nobody.

    `units`: boxes by size, every size that is made (0 where there is none): no other is bought.
    `differences`: of each case its own.  Of equally good boxes the smaller size.  SizeRiskFaults
    where a number is negative.
    """
    refuse_units(units)
    refuse([f"number: not a number of boxes: {number}"] if number < 0 else [])
    counts: dict[Rung, list[float]] = defaultdict(lambda: [1.0])
    for size, difference in zip(planned, differences, strict=True):
        for used, chance in sizes_used(size, difference).items():
            counts[used] = one_more(counts[used], chance)
    there = dict(units)
    bought: list[NextUnit] = []
    for _ in range(number):
        # One box more on top of c serves a case if and only if more than c cases want the size.
        options = [
            NextUnit(size, math.fsum(counts[size][have + 1 :])) for size, have in there.items()
        ]
        best = min(options, key=lambda unit: (-unit.helps, unit.size), default=None)
        if best is None or best.helps <= 0:
            break
        there[best.size] += 1
        bought.append(best)
    return bought
