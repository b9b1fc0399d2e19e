"""Which place is counted next, on values."""

from __future__ import annotations

from datetime import date, timedelta

from implants.counting.proposals import PlaceNow, proposals

TODAY = date(2027, 3, 1)


def order(places, counted=None):
    days = {place: TODAY - timedelta(days=ago) for place, ago in (counted or {}).items()}
    return [one.place.place for one in proposals(places, days, today=TODAY, every_days=90)]


def test_what_is_due_comes_first():
    places = [PlaceNow("A", 9, 9), PlaceNow("B", 1, 0), PlaceNow("C", 1, 0)]
    assert order(places, {"A": 89, "B": 90}) == ["C", "B", "A"]


def test_then_the_only_boxes_of_their_item_then_the_most_boxes_then_the_longest_ago():
    places = [PlaceNow("A", 5, 1), PlaceNow("B", 5, 2), PlaceNow("C", 6, 1), PlaceNow("D", 5, 1)]
    assert order(places, {"A": 100, "B": 100, "C": 100, "D": 200}) == ["B", "C", "D", "A"]


def test_a_place_that_was_never_counted_is_due():
    (found,) = proposals([PlaceNow("A", 1, 0)], {}, today=TODAY, every_days=90)
    assert (found.days, found.is_due) == (None, True)
