"""The best next boxes, held against trying every choice of as many boxes."""

from __future__ import annotations

from collections import Counter
from itertools import combinations_with_replacement
from random import Random

import pytest

from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.faults import SizeRiskFaults
from scheduling.size_risk.next_units import next_units
from tests.scheduling.size_risk.trying_everything import drawn, enumerated

AS_PLANNED = Difference({0: 1.0}, Basis.PRIOR)


@pytest.mark.parametrize("seed", range(25))
def test_no_choice_of_as_many_boxes_is_better(seed: int) -> None:
    planned, units, differences = drawn(Random(seed))
    planned, differences = planned[:4], differences[:4]

    def without(bought: tuple[int, ...]) -> float:
        return enumerated(planned, Counter(units) + Counter(bought), differences)[1]

    bought = next_units(planned, units, differences, 2)
    chosen = tuple(unit.size for unit in bought)
    least = min(without(pair) for pair in combinations_with_replacement(units, 2))
    assert without(chosen) == pytest.approx(least, abs=1e-12)
    gained = sum(unit.helps for unit in bought)
    assert without(()) - without(chosen) == pytest.approx(gained, abs=1e-12)


def test_a_box_that_helps_nobody_is_not_bought() -> None:
    bought = next_units([5, 5], {4: 0, 5: 1, 6: 0}, [AS_PLANNED] * 2, 3)
    assert [(unit.size, unit.helps) for unit in bought] == [(5, 1.0)]


def test_only_what_is_made_is_bought() -> None:
    assert next_units([5], {4: 0, 6: 0}, [AS_PLANNED], 1) == []
    assert next_units([5], {}, [AS_PLANNED], 1) == []


def test_of_equally_good_boxes_the_smaller_size() -> None:
    bought = next_units([6, 5], {6: 0, 5: 0}, [AS_PLANNED] * 2, 2)
    assert [unit.size for unit in bought] == [5, 6]


def test_a_negative_number_is_refused() -> None:
    with pytest.raises(SizeRiskFaults) as refused:
        next_units([5], {5: 1}, [AS_PLANNED], -1)
    assert refused.value.faults == ("number: not a number of boxes: -1",)
