"""Which place is counted next, on values."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from implants.cost import Boxes
from implants.counting.proposals import PlaceNow, proposals

TODAY = date(2027, 3, 1)


def order(places, counted=None):
    days = {place: TODAY - timedelta(days=ago) for place, ago in (counted or {}).items()}
    return [one.place.place for one in proposals(places, days, today=TODAY, every_days=90)]


def test_what_is_due_comes_first():
    places = [PlaceNow("A", Boxes(9), 9), PlaceNow("B", Boxes(1), 0), PlaceNow("C", Boxes(1), 0)]
    assert order(places, {"A": 89, "B": 90}) == ["C", "B", "A"]


def test_then_the_only_boxes_of_their_item_then_the_dearest_the_most_and_the_longest_ago():
    places = [
        PlaceNow("A", Boxes(5), 1),
        PlaceNow("B", Boxes(5), 2),
        PlaceNow("C", Boxes(6), 1),
        PlaceNow("D", Boxes(5), 1),
        PlaceNow("E", Boxes(2, Decimal(620), unpriced=1), 1),
    ]
    assert order(places, {"A": 100, "B": 100, "C": 100, "D": 200, "E": 90}) == [
        *("B", "E", "C", "D", "A"),
    ]


def test_a_place_that_was_never_counted_is_due():
    (found,) = proposals([PlaceNow("A", Boxes(1), 0)], {}, today=TODAY, every_days=90)
    assert (found.days, found.is_due) == (None, True)
