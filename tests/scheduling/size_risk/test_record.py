"""The house's record: who planned what and what was used, by line and by surgeon."""

from __future__ import annotations

from scheduling.size_risk.record import Implanted, Line, records

A, B = Line("stem", "A"), Line("stem", "B")
SIZES = {A: [10, 11, 12, 14], B: [1, 2, 3]}


def implanted(surgeon: str, planned: int, used: int, line: Line = A, other: Line = A) -> Implanted:
    return Implanted(surgeon, line, planned, other, used)


def test_the_difference_is_counted_in_sizes_that_are_made() -> None:
    """From 12 to 14 is one size where no 13 is made."""
    (record,) = records([implanted("Ash", 12, 14), implanted("Ash", 12, 10)], SIZES).values()
    assert record.counts == {-2: 1, 1: 1}
    assert record.cases == 2


def test_each_line_has_its_own_record_and_in_it_each_surgeon() -> None:
    found = records(
        [
            implanted("Ash", 11, 11),
            implanted("Birch", 11, 12),
            implanted("Birch", 11, 11),
            implanted("Birch", 1, 1, B, B),
        ],
        SIZES,
    )
    assert found[A].counts == {0: 2, 1: 1}
    assert found[A].by_surgeon == {"Ash": {0: 1}, "Birch": {0: 1, 1: 1}}
    assert found[B].by_surgeon == {"Birch": {0: 1}}


def test_another_line_and_unknown_sizes_are_left_out_and_said() -> None:
    found = records(
        [
            implanted("Ash", 11, 1, A, B),
            implanted("Ash", 13, 14),
            implanted("Ash", 12, 13),
            implanted("Ash", 7, 7, Line("stem", "C"), Line("stem", "C")),
        ],
        SIZES,
    )
    assert (found[A].counts, found[A].by_surgeon, found[A].left_out) == ({}, {}, 3)
    assert found[Line("stem", "C")].left_out == 1
    assert B not in found
