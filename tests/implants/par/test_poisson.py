from __future__ import annotations

from decimal import Decimal

import pytest

from implants.par.poisson import Rate, at_most, attained, backorders, on_hand, smallest_level

ONE = Decimal(1)


@pytest.mark.parametrize("mean", ["0", "0.01", "0.5", "3", "40"])
def test_a_level_of_none_lets_every_use_wait(mean: str) -> None:
    assert backorders(0, Decimal(mean)) == Decimal(mean)
    assert on_hand(0, Decimal(mean)) == 0
    assert attained(Rate.FILL, 0, Decimal(mean)) == 0


def test_without_demand_nothing_waits_and_all_lies() -> None:
    assert (at_most(0, Decimal(0)), backorders(2, Decimal(0)), on_hand(2, Decimal(0))) == (1, 0, 2)


def test_the_two_rates_differ_by_one_box() -> None:
    mean = Decimal("1.7")
    for level in range(8):
        assert attained(Rate.FILL, level + 1, mean) == attained(Rate.READY, level, mean)
    target = Decimal("0.95")
    ready = smallest_level(Rate.READY, target, mean)
    assert smallest_level(Rate.FILL, target, mean) == ready + 1


@pytest.mark.parametrize("target", ["0.5", "0.9", "0.95", "0.99", "0.999"])
def test_the_smallest_level_reaches_the_target_and_one_less_does_not(target: str) -> None:
    for tenths in range(1, 60, 7):
        mean = Decimal(tenths) / 10
        level = smallest_level(Rate.FILL, Decimal(target), mean)
        assert attained(Rate.FILL, level, mean) >= Decimal(target)
        assert attained(Rate.FILL, level - 1, mean) < Decimal(target)


def test_more_boxes_never_let_more_wait() -> None:
    waits = [backorders(level, Decimal("2.5")) for level in range(20)]
    assert waits == sorted(waits, reverse=True)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="a mean of 0 or more"):
        at_most(1, Decimal(-1))
    with pytest.raises(ValueError, match="a level of 0 or more"):
        backorders(-1, ONE)
    with pytest.raises(ValueError, match="between 0 and 1"):
        smallest_level(Rate.FILL, ONE, ONE)
    with pytest.raises(ValueError, match="no level up to 1000"):
        smallest_level(Rate.FILL, Decimal("0.95"), Decimal(2000))
