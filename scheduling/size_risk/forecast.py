"""Size risk of the booked cases as a range with its basis, and the best next boxes.  Pure.

Only from a distribution that rests on the house's own record: without one there is no figure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from scheduling.coverage.values import Case
from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.ladders import SizeLadder
from scheduling.size_risk.next_units import next_units
from scheduling.size_risk.record import Size
from scheduling.size_risk.risk import size_risk
from scheduling.size_risk.spread import Spread, spread

MOST_BOXES = 5
WORTH_SAYING = 0.01
"""Fewer cases without their size, on average; a box that gains less is not worth a line."""


@dataclass(frozen=True, slots=True)
class CaseRisk:
    """`boxes`: of the planned size.  `finds`: the chance that the size used is there.
    `difference`: what it rests on."""

    case: Case
    planned: Size
    boxes: int
    finds: Spread
    difference: Difference


@dataclass(frozen=True, slots=True)
class LadderRisk:
    """`without`: how many of the cases are without their size, on average."""

    ladder: SizeLadder
    cases: tuple[CaseRisk, ...]
    without: Spread


@dataclass(frozen=True, slots=True)
class NextBox:
    ladder: SizeLadder
    size: Size
    helps: float


def rests_on_records(differences: Iterable[Difference]) -> bool:
    """Nothing of it is an assumption."""
    return all(difference.basis is not Basis.PRIOR for difference in differences)


def ladder_risk(ladder: SizeLadder, differences: Sequence[Difference]) -> LadderRisk | None:
    """`differences`: of each case of the ladder its own.  None where one is an assumption: what
    the cases before take, those after them do not find."""
    if not rests_on_records(differences):
        return None
    found = size_risk(ladder.planned, ladder.boxes, differences)
    # A chance is known as well as the least known of those that it rests on.
    known = accumulate((difference.cases for difference in differences), min)
    ranges = [spread(chance, cases) for chance, cases in zip(found.finds, known, strict=True)]
    return LadderRisk(
        ladder=ladder,
        cases=tuple(
            CaseRisk(case, ladder.sizes[rung], ladder.boxes.get(rung, 0), finds, difference)
            for case, rung, finds, difference in zip(
                ladder.cases, ladder.planned, ranges, differences, strict=True
            )
        ),
        without=Spread(
            math.fsum(1 - finds.high for finds in ranges),
            math.fsum(1 - finds.low for finds in ranges),
        ),
    )


def next_boxes(planned: Iterable[tuple[SizeLadder, Sequence[Difference]]]) -> list[NextBox]:
    """The boxes to buy next over all ladders: ladders do not touch each other, and each further
    box of one helps less, so the best of all is the best of each in turn."""
    found = [
        NextBox(ladder, ladder.sizes[unit.size], unit.helps)
        for ladder, differences in planned
        if rests_on_records(differences)
        for unit in next_units(ladder.planned, ladder.boxes, differences, MOST_BOXES)
    ]
    found.sort(key=lambda box: -box.helps)
    return [box for box in found[:MOST_BOXES] if box.helps >= WORTH_SAYING]
