"""Check values of the holding phase from outside the project."""

from __future__ import annotations

from decimal import Decimal

import pytest

from trays.holding import CYCLES, f0
from trays.weight import LIMIT_GRAMS, weight_warning


@pytest.mark.parametrize(
    ("slug", "celsius", "minutes"), [("134", 134, 3), ("126", 126, 10), ("121", 121, 15)]
)
def test_least_temperature_and_time(slug: str, celsius: int, minutes: int) -> None:
    """Central Sterilising Club, The Principles of Medical Device Decontamination, 2025, Table
    10.2."""
    assert (CYCLES[slug].celsius, CYCLES[slug].minutes) == (celsius, minutes)


@pytest.mark.parametrize(
    ("celsius", "minutes", "expected"), [(121, 15, 14.66), (126, 10, 30.90), (134, 3, 58.50)]
)
def test_f0(celsius: int, minutes: int, expected: float) -> None:
    """F0 = sum of Δt · 10^((T - 121.1) / 10); values reckoned apart from this program."""
    assert f0(Decimal(celsius), Decimal(minutes)) == pytest.approx(expected, abs=0.01)


def test_a_packed_tray_weighs_25_pounds_at_most() -> None:
    """ANSI/AAMI ST77, 4.3.5, as quoted in an education article: 25 lb = 11.34 kg."""
    assert LIMIT_GRAMS == 11_340
    assert weight_warning(11_340) == ""
    assert weight_warning(11_341) == "11.34 kg, over the limit of 11.34 kg"
