"""Size risk in words."""

from __future__ import annotations

import pytest

from scheduling.size_risk.spread import Spread
from scheduling.size_risk.words import (
    number_range,
    percent_range,
    record_in_words,
    shares_in_words,
)


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.8201, 0.9299, "82 to 93 %"),
        (0.829, 0.921, "82 to 93 %"),
        (0.55, 0.55, "55 %"),
        (0.0, 0.07, "0 to 7 %"),
        (0.93, 1.0, "93 to 100 %"),
        (0.57, 0.58, "57 to 58 %"),
    ],
)
def test_a_range_is_rounded_outwards(low: float, high: float, said: str) -> None:
    assert percent_range(Spread(low, high)) == said


def test_a_number_of_cases_as_a_range() -> None:
    assert number_range(Spread(0.21, 0.88)) == "0.2 to 0.9"
    assert number_range(Spread(0.3, 0.3)) == "0.3"


def test_a_record_planned_first_then_the_nearest() -> None:
    assert record_in_words({-1: 3, 2: 1, 0: 20, 1: 9}) == (
        "as planned 20 of 33, 1 size larger 9, 1 size smaller 3, 2 sizes larger 1"
    )
    assert record_in_words({1: 4}) == "1 size larger 4 of 4"
    assert record_in_words({}) == "no case"


def test_shares() -> None:
    assert shares_in_words({-1: 0.19, 0: 0.62, 1: 0.19}) == (
        "as planned 62 %, 1 size larger 19 %, 1 size smaller 19 %"
    )
