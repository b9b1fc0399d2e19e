"""How far a chance that rests on so many cases may lie from the truth: the score interval.

Source: E. B. Wilson, Probable inference, the law of succession, and statistical inference,
J. Am. Stat. Assoc. 22 (1927) 209.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

CONFIDENCE = 0.9
"""Of ten such ranges nine hold the truth, if past cases are like those to come."""


@dataclass(frozen=True, slots=True)
class Spread:
    low: float
    high: float


def spread(chance: float, cases: int, confidence: float = CONFIDENCE) -> Spread:
    """The range of a share `chance` that was found in `cases` cases, 1 or more.

    Exact in form for the case that comes first, whose chance is a share of the record.  For later
    ones, whose chance also rests on what those before take, it is used in the same way.
    """
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    square = z * z / cases
    middle = (chance + square / 2) / (1 + square)
    half = z * sqrt(chance * (1 - chance) / cases + square / (4 * cases)) / (1 + square)
    return Spread(max(0.0, middle - half), min(1.0, middle + half))
