"""What stands in until the house has enough cases of its own."""

from __future__ import annotations

from collections.abc import Mapping

from scheduling.size_risk.difference import Rungs

PRIOR: Mapping[Rungs, float] = {-2: 0.05, -1: 0.19, 0: 0.52, 1: 0.19, 2: 0.05}
"""An assumption of our own, without a source: no published figure for revision stems was found.
It is said as such, and no figure of a case is shown that rests on it."""
