from __future__ import annotations

from decimal import Decimal

import pytest

from trays.holding import CYCLES, Measured, deviations


def measured(lowest: str, highest: str, minutes: str) -> Measured:
    return Measured(Decimal(lowest), Decimal(highest), Decimal(minutes))


def test_as_set_or_better_is_no_deviation() -> None:
    assert deviations(CYCLES["134"], measured("134", "137", "3")) == ()
    assert deviations(CYCLES["134"], measured("134.4", "135.2", "3.5")) == ()


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (
            ("134.0", "135.0", "2.5"),
            (
                "held 2.5 min, at least 3 min wanted",
                "F0 48.75 min, at least 58.50 min wanted",
            ),
        ),
        (
            ("133.5", "135.0", "3.5"),
            ("lowest 133.5 °C, at least 134 °C wanted",),
        ),
        (("134.0", "137.1", "3"), ("highest 137.1 °C, at most 137 °C wanted",)),
    ],
)
def test_each_value_that_misses_is_named_with_what_was_wanted(
    values: tuple[str, str, str], expected: tuple[str, ...]
) -> None:
    assert deviations(CYCLES["134"], measured(*values)) == expected
