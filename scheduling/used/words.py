"""What boxes cost, in words that never leave out a box without a price."""

from __future__ import annotations

from decimal import Decimal

from scheduling.used.tally import Boxes


def money_in_words(sum_: Decimal, currency: str) -> str:
    """`GBP 1,240.50`; the bare figure where the house has named no currency.

    >>> money_in_words(Decimal("1240.5"), "GBP")
    'GBP 1,240.50'
    """
    return f"{currency} {sum_:,.2f}".strip()


def cost_in_words(boxes: Boxes, currency: str) -> str:
    """The sum of those with a price, and how many have none; empty for no box.

    >>> cost_in_words(Boxes(3, Decimal(2400), 1), "GBP")
    'GBP 2,400.00; 1 of 3 has no price'
    """
    if not boxes.number:
        return ""
    if boxes.unpriced == boxes.number:
        return "no price"
    cost = money_in_words(boxes.cost, currency)
    if not boxes.unpriced:
        return cost
    has = "has" if boxes.unpriced == 1 else "have"
    return f"{cost}; {boxes.unpriced} of {boxes.number} {has} no price"
