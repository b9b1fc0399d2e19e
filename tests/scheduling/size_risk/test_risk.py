"""The chance that a case finds its size, held against trying every way the sizes may fall."""

from __future__ import annotations

from random import Random

import pytest

from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.faults import SizeRiskFaults
from scheduling.size_risk.risk import size_risk
from tests.scheduling.size_risk.trying_everything import drawn, enumerated

AS_PLANNED = Difference({0: 1.0}, Basis.PRIOR)
ONE_OVER_OR_NOT = Difference({0: 0.5, 1: 0.5}, Basis.PRIOR)


@pytest.mark.parametrize("seed", range(120))
def test_the_same_as_trying_everything(seed: int) -> None:
    planned, units, differences = drawn(Random(seed))
    risk = size_risk(planned, units, differences)
    finds, without, all_find = enumerated(planned, units, differences)
    assert list(risk.finds) == pytest.approx(finds, abs=1e-12)
    assert risk.without == pytest.approx(without, abs=1e-12)
    assert risk.all_find == pytest.approx(all_find, abs=1e-12)


def test_where_the_plan_is_always_right_the_boxes_go_in_order() -> None:
    risk = size_risk([5, 5, 5], {5: 2}, [AS_PLANNED] * 3)
    assert risk.finds == (1, 1, 0)
    assert risk.without == 1
    assert risk.all_find == 0


def test_the_order_of_the_cases_decides_who_goes_without_but_not_how_many() -> None:
    first = size_risk([5, 6], {5: 1, 6: 1, 7: 0}, [ONE_OVER_OR_NOT] * 2)
    other = size_risk([6, 5], {5: 1, 6: 1, 7: 0}, [ONE_OVER_OR_NOT] * 2)
    assert first.finds == pytest.approx((1, 0.25))
    assert other.finds == pytest.approx((0.5, 0.75))
    assert first.without == pytest.approx(other.without)
    assert first.all_find == pytest.approx(other.all_find)


def test_a_size_that_is_not_made_is_not_found() -> None:
    assert size_risk([12], {12: 3}, [ONE_OVER_OR_NOT]).finds == pytest.approx((0.5,))


def test_no_cases_no_risk() -> None:
    risk = size_risk([], {5: 1}, [])
    assert (risk.finds, risk.without, risk.all_find) == ((), 0, 1)


def test_every_fault_of_the_boxes_is_told() -> None:
    with pytest.raises(SizeRiskFaults) as refused:
        size_risk([5], {5: -1, 6: 2, 7: -3}, [AS_PLANNED])
    assert refused.value.faults == (
        "units[5]: not a number of boxes: -1",
        "units[7]: not a number of boxes: -3",
    )
