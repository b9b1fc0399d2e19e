"""How likely a box is to expire unused, where the oldest is taken first."""

from __future__ import annotations

from decimal import Decimal, localcontext

from implants.par.poisson import DIGITS, at_most


def expires_unused(level: int, uses_a_day: Decimal, shelf_life_days: int) -> Decimal:
    """At most this likely, and exactly for a level of 1; 0 for a level of 0.

    A box that comes last of S is used once S uses have come: it expires where fewer came within
    its life, P(Poisson(λM) ≤ S − 1).
    """
    if level < 1:
        return Decimal(0)
    with localcontext(DIGITS):
        mean = uses_a_day * shelf_life_days
    return at_most(level - 1, mean)
