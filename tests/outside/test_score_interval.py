"""The range of a share against values from outside.

Source: the score interval of E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209, as computed by
scipy.stats.binomtest (method "wilson", without continuity correction).
"""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from scheduling.size_risk.spread import spread


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
@pytest.mark.parametrize(
    ("found", "cases"), [(0, 5), (5, 5), (8, 10), (17, 30), (29, 30), (3, 200)]
)
def test_the_range_of_a_share(found: int, cases: int, confidence: float) -> None:
    ours = spread(found / cases, cases, confidence)
    theirs = binomtest(found, cases).proportion_ci(confidence, method="wilson")
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)
