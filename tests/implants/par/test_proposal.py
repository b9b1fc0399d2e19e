from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from implants.par.poisson import Rate
from implants.par.proposal import Demand, Terms, propose

WEEK = 7 * 24 * 60
TARGET = Decimal("0.95")
A_YEAR = Demand(uses=52, days=364)


def test_a_level_for_a_use_a_week_and_a_week_to_wait() -> None:
    """Mean 1: four boxes for a fill rate of 0.95, three for a ready rate of it."""
    fill = propose(A_YEAR, Terms(WEEK), Rate.FILL, TARGET)
    assert (fill.mean, fill.level, round(fill.attained, 4)) == (1, 4, Decimal("0.9810"))
    assert (round(fill.waiting, 5), round(fill.lying, 5)) == (
        Decimal("0.00435"),
        Decimal("3.00435"),
    )
    assert propose(A_YEAR, Terms(WEEK), Rate.READY, TARGET).level == 3


def test_no_less_than_one_case_may_want_at_once() -> None:
    asked = propose(A_YEAR, Terms(WEEK, least=6), Rate.FILL, TARGET)
    assert (asked.by_rate, asked.level) == (4, 6)
    assert asked.attained > propose(A_YEAR, Terms(WEEK), Rate.FILL, TARGET).attained


def test_without_any_use_only_the_windows_speak() -> None:
    unused = Demand(0, 730)
    assert propose(unused, Terms(WEEK), Rate.FILL, TARGET).level == 0
    assert propose(unused, Terms(WEEK, least=1), Rate.FILL, TARGET).level == 1


def test_a_rare_size_of_the_houses_own_had_better_be_lent() -> None:
    rare, terms = Demand(1, 730), Terms(WEEK, least=1, shelf_life_days=365)
    owned = propose(rare, terms, Rate.FILL, TARGET)
    assert owned.better_lent
    assert round(owned.expires, 3) == Decimal("0.607")  # exp(−1/2): half a use in its life
    assert not propose(rare, replace(terms, owned=False), Rate.FILL, TARGET).better_lent
    assert not propose(rare, replace(terms, shelf_life_days=None), Rate.FILL, TARGET).better_lent
    assert not propose(Demand(40, 365), terms, Rate.FILL, TARGET).better_lent
