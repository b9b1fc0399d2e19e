from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from implants.cost import Boxes, cost_in_words
from scheduling.used.tally import Count, Use, by_month, count, most_wasted_first


def use(day: date, surgeon: str, *, wasted: bool = False, price: Decimal | None = None) -> Use:
    return Use(
        day=day,
        case="C1",
        surgeon=surgeon,
        wasted=wasted,
        why="dropped" if wasted else "",
        note="",
        line="stem A",
        words="stem, size 12",
        ref="ST-12",
        lot="L1",
        serial="",
        owner="owned",
        code="B1",
        settled="",
        price=price,
    )


USES = [
    use(date(2027, 2, 28), "Ash"),
    use(date(2027, 3, 1), "Birch", wasted=True),
    use(date(2027, 2, 1), "Birch"),
    use(date(2027, 3, 31), "Ash", wasted=True),
    use(date(2027, 3, 31), "Birch", wasted=True),
]


def test_every_box_counts_once_in_its_month():
    months = [(one.of, one.implanted.number, one.wasted.number) for one in by_month(USES)]
    assert months == [(date(2027, 2, 1), 2, 0), (date(2027, 3, 1), 0, 3)]


def test_who_wasted_most_stands_first():
    counted = most_wasted_first(count(USES, lambda one: one.surgeon))
    numbers = [(one.of, one.implanted.number, one.wasted.number) for one in counted]
    assert numbers == [("Birch", 1, 2), ("Ash", 1, 1)]
    assert [one.opened for one in counted] == [3, 2]


def test_a_sum_says_how_many_boxes_it_leaves_out():
    day = date(2027, 3, 1)
    uses = [
        use(day, "Ash", price=Decimal("1240.50")),
        use(day, "Ash", wasted=True),
        use(day, "Ash", wasted=True, price=Decimal("99.95")),
        use(day, "Ash", wasted=True, price=Decimal(0)),
    ]
    (one,) = count(uses, lambda each: each.surgeon)
    assert one == Count(
        "Ash", Boxes(1, Decimal("1240.50"), unpriced=0), Boxes(3, Decimal("99.95"), unpriced=1)
    )


@pytest.mark.parametrize(
    ("boxes", "said"),
    [
        (Boxes(), ""),
        (Boxes(1, Decimal("1240.5")), "GBP\N{NO-BREAK SPACE}1,240.50"),
        (Boxes(3, Decimal(2400), 1), "GBP\N{NO-BREAK SPACE}2,400.00; 1 of 3 has no price"),
        (Boxes(4, Decimal(2400), 2), "GBP\N{NO-BREAK SPACE}2,400.00; 2 of 4 have no price"),
        (Boxes(2, Decimal(0), 0), "GBP\N{NO-BREAK SPACE}0.00"),  # a price of nothing is a price
        (Boxes(2, Decimal(0), 2), "no price"),
    ],
)
def test_what_boxes_cost_in_words(boxes: Boxes, said: str):
    assert cost_in_words(boxes, "GBP") == said


def test_without_a_currency_the_bare_figure():
    assert cost_in_words(Boxes(1, Decimal(5)), "") == "5.00"


def test_nothing_is_counted_of_nothing():
    assert by_month([]) == []
