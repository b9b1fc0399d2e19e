"""Size risk of the booked cases as a range with its basis, and the best next boxes.  Pure.

Only from a distribution that rests on the house's own record: without one there is no figure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.coverage.values import Case
from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.ladders import SizeLadder
from scheduling.size_risk.next_units import next_units
from scheduling.size_risk.record import Line, Size
from scheduling.size_risk.risk import size_risk
from scheduling.size_risk.spread import Spread, spread

MOST_BOXES = 5
WORTH_SAYING = 0.01
"""Fewer cases without their size, on average; a box that gains less is not worth a line."""


@dataclass(frozen=True, slots=True)
class CaseRisk:
    """`boxes`: of the planned size.  `finds`: the chance that the size used is there."""

    case: Case
    planned: Size
    boxes: int
    finds: Spread


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


def ladder_risk(ladder: SizeLadder, difference: Difference) -> LadderRisk | None:
    """None where the distribution is an assumption."""
    if difference.basis is not Basis.RECORD:
        return None
    found = size_risk(ladder.planned, ladder.boxes, difference)
    ranges = [spread(chance, difference.cases) for chance in found.finds]
    return LadderRisk(
        ladder=ladder,
        cases=tuple(
            CaseRisk(case, ladder.sizes[rung], ladder.boxes.get(rung, 0), finds)
            for case, rung, finds in zip(ladder.cases, ladder.planned, ranges, strict=True)
        ),
        without=Spread(
            math.fsum(1 - finds.high for finds in ranges),
            math.fsum(1 - finds.low for finds in ranges),
        ),
    )


def next_boxes(
    ladders: Sequence[SizeLadder], differences: Mapping[Line, Difference]
) -> list[NextBox]:
    """The boxes to buy next over all ladders: ladders do not touch each other, and each further
    box of one helps less, so the best of all is the best of each in turn."""
    found = [
        NextBox(ladder, ladder.sizes[unit.size], unit.helps)
        for ladder in ladders
        if (difference := differences.get(ladder.line)) and difference.basis is Basis.RECORD
        for unit in next_units(ladder.planned, ladder.boxes, difference, MOST_BOXES)
    ]
    found.sort(key=lambda box: -box.helps)
    return [box for box in found[:MOST_BOXES] if box.helps >= WORTH_SAYING]
