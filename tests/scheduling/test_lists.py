from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from scheduling.lists import Gap, Slot, gaps_between, in_lists, reordered
from tests.factories import NOW


def slot(ref: str, hours: float, minutes: int = 60, theatre: str = "T1", **more: bool) -> Slot:
    return Slot(ref, theatre, NOW + timedelta(hours=hours), minutes, **more)


LIST = (slot("A", 1, 90), slot("B", 3, 60), slot("C", 4, 120))
"""08:00 to 09:30, 10:00 to 11:00, 11:00 to 13:00."""


def starts(slots) -> dict[str, float]:
    return {one.ref: (one.start - NOW) / timedelta(hours=1) for one in slots}


def test_lists_by_theatre_in_time_order():
    found = in_lists(
        [slot("B", 2), slot("X", 1, theatre="T2"), slot("A", 1), slot("N", 1, theatre="")]
    )
    assert {theatre: [one.ref for one in of] for theatre, of in found.items()} == {
        "T1": ["A", "B"],
        "T2": ["X"],
    }


def test_slack_and_clashes():
    late = slot("D", 12.5 - 7 + 1, 30)
    assert gaps_between([*LIST, late]) == (
        Gap("T1", "A", "B", 30),
        Gap("T1", "B", "C", 0),
        Gap("T1", "C", "D", 30),
    )
    assert not Gap("T1", "B", "C", 0).is_clash


def test_a_long_case_runs_into_the_next_but_one():
    found = gaps_between([slot("A", 1, 300), slot("B", 2, 30), slot("C", 3, 30)])
    assert [(gap.first, gap.second, gap.minutes) for gap in found] == [
        ("A", "B", -240),
        ("A", "C", -180),
    ]
    assert all(gap.is_clash for gap in found)


def order(slots, refs: str):
    by_ref = {one.ref: one for one in slots}
    return [by_ref[ref] for ref in refs]


def test_another_order_keeps_the_begin_and_the_pauses():
    assert starts(reordered(LIST, order(LIST, "BAC"))) == {"B": 1, "A": 2.5, "C": 4}
    assert starts(reordered(LIST, LIST)) == starts(LIST)


def test_what_has_begun_stays():
    begun = (replace(LIST[0], fixed=True), *LIST[1:])
    assert starts(reordered(begun, order(begun, "ACB"))) == {"A": 1, "C": 3, "B": 5}


def test_a_case_from_elsewhere_joins_the_list_and_the_rest_moves_on():
    guest = slot("X", 9, 30)
    assert starts(reordered(LIST, [LIST[0], guest, *LIST[1:]])) == {
        "A": 1,
        "X": 3,
        "B": 3.5,
        "C": 4.5,
    }
    assert starts(reordered((), [guest])) == {"X": 9}
    assert starts(reordered(LIST[:1], LIST)) == {"A": 1, "B": 2.5, "C": 3.5}
