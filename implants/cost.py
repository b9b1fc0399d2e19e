"""What boxes cost, in words that never leave out a box without a price.  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

NO_BREAK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Boxes:
    """So many boxes: what those with a price cost together, and how many have none."""

    number: int = 0
    cost: Decimal = Decimal(0)
    unpriced: int = 0

    def and_one(self, price: Decimal | None) -> Boxes:
        return Boxes(
            self.number + 1, self.cost + (price or Decimal(0)), self.unpriced + (price is None)
        )


def money_in_words(sum_: Decimal, currency: str) -> str:
    """`GBP 1,240.50`; the bare figure where the house has named no currency.

    No line ends between the two: a figure alone in its line would be read without its currency.
    """
    return f"{currency}{NO_BREAK}{sum_:,.2f}" if currency else f"{sum_:,.2f}"


def cost_in_words(boxes: Boxes, currency: str) -> str:
    """`GBP 2,400.00; 1 of 3 has no price`: the sum of those with a price, and how many have none;
    empty for no box."""
    if not boxes.number:
        return ""
    if boxes.unpriced == boxes.number:
        return "no price"
    cost = money_in_words(boxes.cost, currency)
    if not boxes.unpriced:
        return cost
    has = "has" if boxes.unpriced == 1 else "have"
    return f"{cost}; {boxes.unpriced} of {boxes.number} {has} no price"
