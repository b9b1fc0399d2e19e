"""One-for-one replenishment under Poisson demand, for one item.

A level S is kept: every use is ordered again at once, and comes after the lead time.  X, the
demand during a lead time, is Poisson with mean m; then S − X is what is on the shelf, less what is
owed.  Two rates go by the same name and differ by one box, so each has its own here.

Everything is worked in 40 decimal digits, so that no answer depends on the machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Context, Decimal, localcontext
from enum import StrEnum

DIGITS = Context(prec=40)
MOST = 1_000
"""No level beyond this is looked for."""


class Rate(StrEnum):
    """What is promised of a level."""

    FILL = "fill rate"
    """The next use finds a box: P(X ≤ S − 1)."""
    READY = "ready rate"
    """At a moment looked at, nothing is owed: P(X ≤ S)."""


def probabilities(mean: Decimal) -> Iterator[Decimal]:
    """P(X = 0), P(X = 1), ... without an end.  ValueError for a mean below 0."""
    if mean < 0:
        raise ValueError(f"a mean of 0 or more, not {mean}")
    with localcontext(DIGITS):
        term = (-mean).exp()
    number = 0
    while True:
        yield term
        number += 1
        with localcontext(DIGITS):
            term = term * mean / number


def at_most(number: int, mean: Decimal) -> Decimal:
    """P(X ≤ number); 0 for a number below 0."""
    terms = probabilities(mean)
    with localcontext(DIGITS):
        return min(sum((next(terms) for _ in range(number + 1)), Decimal(0)), Decimal(1))


def attained(rate: Rate, level: int, mean: Decimal) -> Decimal:
    """The rate that a level gives."""
    return at_most(level - 1 if rate is Rate.FILL else level, mean)


def backorders(level: int, mean: Decimal) -> Decimal:
    """E[(X − S)+]: how many uses wait for a box, at a moment looked at.  ValueError below 0."""
    if level < 0:
        raise ValueError(f"a level of 0 or more, not {level}")
    # E[(X − S)+] = m − Σ P(X > k) over k from 0 to S − 1.
    terms = probabilities(mean)
    left, owed = Decimal(1), mean
    with localcontext(DIGITS):
        for _ in range(level):
            left -= next(terms)
            owed -= left
        return max(owed, Decimal(0))


def on_hand(level: int, mean: Decimal) -> Decimal:
    """E[(S − X)+]: how many boxes lie on the shelf, at a moment looked at."""
    with localcontext(DIGITS):
        return level - mean + backorders(level, mean)


def smallest_level(rate: Rate, target: Decimal, mean: Decimal) -> int:
    """The smallest level that gives at least the target.  ValueError for a target outside (0, 1),
    or where none up to 1,000 does."""
    if not 0 < target < 1:
        raise ValueError(f"a target between 0 and 1, not {target}")
    terms = probabilities(mean)
    with localcontext(DIGITS):
        reached = Decimal(0)
        for number in range(MOST + 1):
            reached += next(terms)
            if reached >= target:
                return number + 1 if rate is Rate.FILL else number
    raise ValueError(f"no level up to {MOST} gives {target} for a mean of {mean}")
