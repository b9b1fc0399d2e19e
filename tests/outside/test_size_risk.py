"""Size risk against published-style check values.

Source: the project's check values for size risk, six cases planned 5, 5, 6, 6, 7, 8 on sizes 1 to
12, size used = planned with .52, ±1 with .19 each, ±2 with .05 each.  They were computed outside
this code by an exact dynamic programme and checked by enumeration; no published size accuracy
for revision stems was found.  Figures are compared to all the digits that they are given with.
"""

from __future__ import annotations

from collections import Counter

import pytest

from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.next_units import next_units
from scheduling.size_risk.risk import size_risk

PLANNED = [5, 5, 6, 6, 7, 8]
SIZES = range(1, 13)
DIFFERENCES = [Difference({0: 0.52, 1: 0.19, -1: 0.19, 2: 0.05, -2: 0.05}, Basis.PRIOR)] * 6
ONE_OF_EACH = dict.fromkeys(SIZES, 1)
TWO_OF_EACH = dict.fromkeys(SIZES, 2)


def test_two_of_each_size() -> None:
    risk = size_risk(PLANNED, TWO_OF_EACH, DIFFERENCES)
    assert risk.all_find == pytest.approx(0.5926303530730004, abs=1e-12)
    assert risk.without == pytest.approx(0.47757200377999975, abs=1e-12)
    expected = [1, 1, 0.9276, 0.8221, 0.8562, 0.9165]
    assert list(risk.finds) == pytest.approx(expected, abs=5e-5)


def test_one_of_each_size() -> None:
    risk = size_risk(PLANNED, ONE_OF_EACH, DIFFERENCES)
    assert risk.all_find == pytest.approx(0.01240251428, abs=5e-12)
    assert risk.without == pytest.approx(2.05517146528, abs=5e-12)


def test_the_best_next_units() -> None:
    bought = next_units(PLANNED, ONE_OF_EACH, DIFFERENCES, 4)
    assert [unit.size for unit in bought] == [6, 5, 7, 6]
    chances = []
    units = Counter(ONE_OF_EACH)
    for unit in bought:
        units[unit.size] += 1
        chances.append(size_risk(PLANNED, units, DIFFERENCES).all_find)
    assert chances == pytest.approx([0.0903, 0.2429, 0.4263, 0.5634], abs=5e-5)
