"""Par levels against published tables and worked examples, and against scipy.stats."""

from __future__ import annotations

import random
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from implants.par.expiry import expires_unused
from implants.par.poisson import Rate, at_most, attained, backorders, on_hand, smallest_level


def close(ours: Decimal, theirs: float, within: float = 1e-11) -> bool:
    return abs(float(ours) - theirs) <= within


# A published table of the cumulative Poisson distribution, to four places.
CUMULATIVE = {
    "0.5": [".6065", ".9098", ".9856", ".9982"],
    "1": [".3679", ".7358", ".9197", ".9810", ".9963"],
    "2": [".1353", ".4060", ".6767", ".8571", ".9473", ".9834"],
    "5": [".0067", ".0404", ".1247", ".2650", ".4405", ".6160", ".7622", ".8666", ".9319"],
}


@pytest.mark.parametrize("mean", CUMULATIVE)
def test_the_published_cumulative_table(mean: str) -> None:
    ours = [round(at_most(number, Decimal(mean)), 4) for number in range(len(CUMULATIVE[mean]))]
    assert ours == [Decimal(value) for value in CUMULATIVE[mean]]


# Fill rate P(X <= S - 1) and expected backorders; scipy.stats 1.17.1 and stockpyl 1.0.2.
BASE_STOCK = [
    ("0.5", 1, ".6065", ".10653"),
    ("0.5", 2, ".9098", ".01633"),
    ("0.5", 3, ".9856", ".00194"),
    ("0.5", 4, ".9982", ".00019"),
    ("1.0", 1, ".3679", ".36788"),
    ("1.0", 2, ".7358", ".10364"),
    ("1.0", 3, ".9197", ".02334"),
    ("1.0", 4, ".9810", ".00435"),
    ("2.0", 1, ".1353", "1.13534"),
    ("2.0", 2, ".4060", ".54134"),
    ("2.0", 3, ".6767", ".21802"),
    ("2.0", 4, ".8571", ".07514"),
]


@pytest.mark.parametrize(("mean", "level", "fill", "owed"), BASE_STOCK)
def test_base_stock_figures(mean: str, level: int, fill: str, owed: str) -> None:
    assert round(attained(Rate.FILL, level, Decimal(mean)), 4) == Decimal(fill)
    assert round(backorders(level, Decimal(mean)), 5) == Decimal(owed)


@pytest.mark.parametrize(
    ("mean", "holding", "penalty", "level"),
    [
        # Snyder & Shen, Fundamentals of Supply Chain Theory, 2nd ed., as given in the
        # documentation of stockpyl: Poisson(50) with the costs of example 4.3, and example 4.7.
        ("50", "0.18", "0.70", 56),
        ("6", "1", "4", 8),
    ],
)
def test_the_newsvendors_level_is_the_ready_rate_at_the_critical_ratio(
    mean: str, holding: str, penalty: str, level: int
) -> None:
    ratio = Decimal(penalty) / (Decimal(penalty) + Decimal(holding))
    assert smallest_level(Rate.READY, ratio, Decimal(mean)) == level


@pytest.mark.parametrize(("sites", "apart", "pooled"), [(4, 16, 9), (9, 36, 15)])
def test_pooling_of_slow_movers(sites: int, apart: int, pooled: int) -> None:
    """Fill rate 0.95 and a mean of 1 a site (computed; after Eppen 1979)."""
    target = Decimal("0.95")
    assert sites * smallest_level(Rate.FILL, target, Decimal(1)) == apart
    assert smallest_level(Rate.FILL, target, Decimal(sites)) == pooled


def test_expiry_of_a_rare_size() -> None:
    """0.3 uses a year, five years of life: S = 1 exactly .223, S = 2 at most .558 (derived and
    computed; simulated, .429 of the second boxes expire)."""
    a_day = Decimal("0.3") / 365
    assert round(expires_unused(1, a_day, 5 * 365), 3) == Decimal("0.223")
    assert round(expires_unused(2, a_day, 5 * 365), 3) == Decimal("0.558")


def test_against_scipy() -> None:
    dice = random.Random(9)
    for _ in range(300):
        mean, level = dice.uniform(0.001, 60), dice.randrange(1, 80)
        exact = Decimal(mean)
        theirs = stats.poisson(mean)
        assert close(at_most(level, exact), theirs.cdf(level))
        # E[(X - S)+] is the sum of P(X > k) over all k from S on.
        owed = theirs.sf(np.arange(level, 500)).sum()
        assert close(backorders(level, exact), owed, 1e-8)
        assert close(on_hand(level, exact), level - mean + owed, 1e-8)
        target = dice.uniform(0.5, 0.999)
        assert smallest_level(Rate.READY, Decimal(target), exact) == theirs.ppf(target)
