from __future__ import annotations

from decimal import Decimal
from itertools import product

from implants.par.marginal import gain_of_one_more, next_boxes
from implants.par.poisson import backorders

MEANS = {"A": Decimal("0.3"), "B": Decimal("1.1"), "C": Decimal("2.4")}


def test_the_gain_is_what_waits_no_more() -> None:
    for level in range(6):
        gone = backorders(level, MEANS["C"]) - backorders(level + 1, MEANS["C"])
        assert abs(gain_of_one_more(level, MEANS["C"]) - gone) < Decimal("1e-25")


def test_no_other_choice_of_as_many_boxes_is_better() -> None:
    """Against every way to buy four boxes of three items."""
    start = {"A": 1, "B": 0, "C": 1}
    bought = next_boxes(start, MEANS, 4)
    chosen = dict(start)
    for box in bought:
        assert box.level == chosen[box.ref]
        chosen[box.ref] += 1

    def waits(levels: dict[str, int]) -> Decimal:
        return sum((backorders(levels[ref], MEANS[ref]) for ref in MEANS), Decimal(0))

    ways = [more for more in product(range(5), repeat=3) if sum(more) == 4]
    best = min(
        waits({ref: start[ref] + one for ref, one in zip(MEANS, more, strict=True)})
        for more in ways
    )
    assert waits(chosen) == best


def test_of_equals_the_first_ref() -> None:
    assert [box.ref for box in next_boxes({}, {"B": Decimal(1), "A": Decimal(1)}, 2)] == ["A", "B"]


def test_nothing_is_bought_that_nobody_uses() -> None:
    assert next_boxes({}, {"A": Decimal(0)}, 3) == []
