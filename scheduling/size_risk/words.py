"""Size risk in words: shares of a record, ranges, what an item's ladder is called."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil, floor

from scheduling.size_risk.difference import Basis, Difference, Rungs
from scheduling.size_risk.spread import Spread


def step_in_words(rungs: Rungs) -> str:
    """How far the size used lay from the one planned."""
    if not rungs:
        return "as planned"
    sizes = "1 size" if abs(rungs) == 1 else f"{abs(rungs)} sizes"
    return f"{sizes} {'larger' if rungs > 0 else 'smaller'}"


def record_in_words(record: Mapping[Rungs, int]) -> str:
    """`as planned 18 of 34, 1 size larger 9, …`: planned first, then the nearest."""
    cases = sum(record.values())
    if not cases:
        return "no case"
    steps = sorted(record, key=lambda rungs: (abs(rungs), -rungs))
    first, *others = (f"{step_in_words(rungs)} {record[rungs]}" for rungs in steps)
    return ", ".join([f"{first} of {cases}", *others])


def basis_in_words(difference: Difference, surgeon: str) -> str:
    """`34 cases of Surgeon Ash`, `120 cases of the line`, or that it is an assumption."""
    if difference.basis is Basis.PRIOR:
        return Basis.PRIOR.value
    of = surgeon if difference.basis is Basis.SURGEON else "the line"
    return f"{difference.cases} case{'' if difference.cases == 1 else 's'} of {of}"


def shares_in_words(chances: Mapping[Rungs, float]) -> str:
    steps = sorted(chances, key=lambda rungs: (abs(rungs), -rungs))
    return ", ".join(f"{step_in_words(rungs)} {chances[rungs] * 100:.0f} %" for rungs in steps)


def percent_range(spread: Spread) -> str:
    """`82 to 93 %`, rounded outwards: never narrower than it is."""
    low, high = floor(spread.low * 100 + _TINY), ceil(spread.high * 100 - _TINY)
    return f"{low} %" if low == high else f"{low} to {high} %"


def number_range(spread: Spread) -> str:
    """`0.2 to 0.9`, rounded outwards."""
    low, high = floor(spread.low * 10 + _TINY) / 10, ceil(spread.high * 10 - _TINY) / 10
    return f"{low:.1f}" if low == high else f"{low:.1f} to {high:.1f}"


_TINY = 1e-9
"""What reckoning in floating point may add to a whole number."""
