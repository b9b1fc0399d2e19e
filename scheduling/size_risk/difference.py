"""How far the size that is used lies from the size that was planned, and how that is known.

Sizes are counted in rungs of the ladder that is made, not in the maker's numbers: +1 is the next
size over.  No published figure for revision stems was found, so the house's own record decides;
until it holds enough cases a prior stands in, and whoever shows a figure must say so (`basis`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scheduling.size_risk.faults import refuse

Rungs = int

_TOLERANCE = 1e-9


class Basis(StrEnum):
    """What a distribution rests on."""

    PRIOR = "an assumption, not the house's record"
    RECORD = "the house's record"
    SURGEON = "the surgeon's own record"


@dataclass(frozen=True, slots=True)
class Difference:
    """The distribution of used − planned, in rungs: `chances` are positive and sum to 1.

    `cases`: how many cases are on record, whatever the basis; the surgeon's own where it is theirs.
    SizeRiskFaults where a chance is not a probability or they do not sum to 1.
    """

    chances: Mapping[Rungs, float]
    basis: Basis
    cases: int = 0

    def __post_init__(self) -> None:
        faults = [
            f"chances[{rungs}]: not a probability: {chance}"
            for rungs, chance in self.chances.items()
            if not 0 < chance <= 1
        ]
        total = math.fsum(self.chances.values())
        if not faults and abs(total - 1) > _TOLERANCE:
            faults.append(f"chances: they sum to {total:.6g}, not to 1")
        refuse(faults)


def difference_of(
    record: Mapping[Rungs, int],
    *,
    prior: Mapping[Rungs, float],
    enough: int,
    own: Mapping[Rungs, int] | None = None,
) -> Difference:
    """The distribution to reckon with: the shares of the surgeon's `own` record on the line from
    `enough` cases on, else those of the line's, if it has as many, else `prior`.

    Records: used − planned, in rungs → how many cases; `enough`: 1 or more, the house's setting.
    SizeRiskFaults with all faults of the record at once.
    """
    if own and sum(own.values()) >= enough >= 1:
        found = difference_of(own, prior=prior, enough=enough)
        return Difference(found.chances, Basis.SURGEON, found.cases)
    faults = [
        f"record[{rungs}]: not a number of cases: {number}"
        for rungs, number in record.items()
        if number < 0
    ]
    if enough < 1:
        faults.append(f"enough: at least 1 case, not {enough}")
    refuse(faults)
    cases = sum(record.values())
    if cases < enough:
        return Difference(dict(prior), Basis.PRIOR, cases)
    shares = {rungs: number / cases for rungs, number in record.items() if number}
    return Difference(shares, Basis.RECORD, cases)
