"""A steriliser's holding phase: what was set, what was measured, and where the two differ.

Steam at a temperature for a time.  The least values are those of the Central Sterilising Club, The
Principles of Medical Device Decontamination, 2025, Table 10.2; the upper limits of the bands are
the ones that go with them.  F0 is the time at 121.1 °C that would kill as much:
F0 = Σ Δt · 10^((T - 121.1) / 10), minutes and °C.

A deviation is shown and explained; whether the load is good is a person's to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

REFERENCE_CELSIUS = 121.1
CELSIUS_FOR_TENFOLD = 10.0


@dataclass(frozen=True, slots=True)
class Cycle:
    """°C and minutes that the holding phase has at least, and the band's upper limit in °C."""

    slug: str
    celsius: Decimal
    minutes: Decimal
    upper_celsius: Decimal

    @property
    def name(self) -> str:
        return f"{self.celsius} °C, {self.minutes} min"


CYCLES = {
    slug: Cycle(slug, Decimal(celsius), Decimal(minutes), Decimal(upper))
    for slug, celsius, minutes, upper in (
        ("134", 134, 3, 137),
        ("126", 126, 10, 129),
        ("121", 121, 15, 124),
    )
}


@dataclass(frozen=True, slots=True)
class Measured:
    """The lowest and the highest °C of the holding phase, and its minutes."""

    lowest_celsius: Decimal
    highest_celsius: Decimal
    minutes: Decimal


def f0(celsius: Decimal, minutes: Decimal) -> float:
    """Equivalent minutes at 121.1 °C of a holding phase at one temperature."""
    exponent = (float(celsius) - REFERENCE_CELSIUS) / CELSIUS_FOR_TENFOLD
    return float(float(minutes) * 10**exponent)


def deviations(cycle: Cycle, measured: Measured) -> tuple[str, ...]:
    """Where the measured values miss the cycle's, in words with both values; none: as set.

    F0 is reckoned with the lowest temperature, so it never flatters.
    """
    found = []
    if measured.minutes < cycle.minutes:
        found.append(f"held {measured.minutes} min, at least {cycle.minutes} min wanted")
    if measured.lowest_celsius < cycle.celsius:
        found.append(f"lowest {measured.lowest_celsius} °C, at least {cycle.celsius} °C wanted")
    if measured.highest_celsius > cycle.upper_celsius:
        found.append(
            f"highest {measured.highest_celsius} °C, at most {cycle.upper_celsius} °C wanted"
        )
    wanted, reached = (
        f0(cycle.celsius, cycle.minutes),
        f0(measured.lowest_celsius, measured.minutes),
    )
    if reached < wanted:
        found.append(f"F0 {reached:.2f} min, at least {wanted:.2f} min wanted")
    return tuple(found)
