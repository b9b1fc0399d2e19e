from __future__ import annotations

from datetime import timedelta

from scheduling.keeping import Use, kept
from tests.factories import NOW


def use(key: int, begins: int, ends: int, tray: int = 1) -> Use:
    return Use(key, tray, NOW + timedelta(hours=begins), NOW + timedelta(hours=ends))


def test_what_stands_is_not_given_up():
    assert kept([use(1, 2, 4)], [use(9, 3, 5)]) == frozenset()
    assert kept([use(1, 2, 3)], [use(9, 3, 5)]) == {1}


def test_of_two_that_are_moved_the_first_keeps_the_tray():
    assert kept([use(1, 1, 4), use(2, 3, 6), use(3, 3, 6, tray=2)], []) == {1, 3}
