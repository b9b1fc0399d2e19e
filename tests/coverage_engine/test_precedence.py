"""The two orders of cases: by right and by time."""

from __future__ import annotations

from itertools import permutations

from scheduling.coverage.precedence import by_precedence, by_time
from scheduling.coverage.values import Priority
from tests.coverage_engine.build import case

ELECTIVE_SOON = case("E1", "Mon 08:00")
ELECTIVE_SOON_TOO = case("E2", "Mon 08:00")
EXPEDITED = case("X1", "Tue 08:00", priority=Priority.EXPEDITED)
URGENT = case("U1", "Wed 08:00", priority=Priority.URGENT)
IMMEDIATE = case("I1", "Thu 08:00", priority=Priority.IMMEDIATE)
ALL = [ELECTIVE_SOON, ELECTIVE_SOON_TOO, EXPEDITED, URGENT, IMMEDIATE]


def test_by_right_the_most_urgent_class_comes_first_then_start_then_reference() -> None:
    for mixed in permutations(ALL):
        assert [case.ref for case in sorted(mixed, key=by_precedence)] == [
            *("I1", "U1", "X1", "E1", "E2")
        ]


def test_by_time_the_class_does_not_matter() -> None:
    for mixed in permutations(ALL):
        assert [case.ref for case in sorted(mixed, key=by_time)] == ["E1", "E2", "X1", "U1", "I1"]
