"""A par level for one item, with every figure that it rests on.  A person accepts it, or not."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext

from implants.par.expiry import expires_unused
from implants.par.poisson import DIGITS, Rate, attained, backorders, on_hand, smallest_level

TOO_OFTEN = Decimal("0.2")
"""A box of the house's own that expires unused more often than this had better be lent, or be the
supplier's until it is used.  A house rule, no advice: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Demand:
    """The house's own use of an item: so many in so many days."""

    uses: int
    days: int

    @property
    def a_day(self) -> Decimal:
        with localcontext(DIGITS):
            return Decimal(self.uses) / Decimal(self.days)


@dataclass(frozen=True, slots=True)
class Terms:
    """`wait_minutes`: the longest that an order takes, from the moment of use to the shelf.
    `least`: what one case may want of the item at once.  `shelf_life_days`: as the supplier's
    terms have it; None: it does not expire.  `owned`: boxes here are the house's own."""

    wait_minutes: int
    least: int = 0
    shelf_life_days: int | None = None
    owned: bool = True


@dataclass(frozen=True, slots=True)
class Proposal:
    """`by_rate`: the level that the rate alone asks for; `level`: the one proposed, `least` or
    more.  `expires`: how likely at most a box expires unused at that level."""

    rate: Rate
    target: Decimal
    demand: Demand
    terms: Terms
    mean: Decimal
    by_rate: int
    level: int
    attained: Decimal
    waiting: Decimal
    lying: Decimal
    expires: Decimal

    @property
    def better_lent(self) -> bool:
        """So rare that a box of the house's own would often expire first."""
        return self.terms.owned and self.level > 0 and self.expires > TOO_OFTEN


def propose(demand: Demand, terms: Terms, rate: Rate, target: Decimal) -> Proposal:
    """The smallest level that gives the target rate, and no less than one case may want.

    Without any use the rate asks for nothing: then only the windows of cases speak.
    """
    with localcontext(DIGITS):
        mean = demand.a_day * terms.wait_minutes / (24 * 60)
    by_rate = smallest_level(rate, target, mean) if demand.uses else 0
    level = max(by_rate, terms.least)
    expires = Decimal(0)
    if terms.shelf_life_days is not None:
        expires = expires_unused(level, demand.a_day, terms.shelf_life_days)
    return Proposal(
        rate=rate,
        target=target,
        demand=demand,
        terms=terms,
        mean=mean,
        by_rate=by_rate,
        level=level,
        attained=attained(rate, level, mean),
        waiting=backorders(level, mean),
        lying=on_hand(level, mean),
        expires=expires,
    )
