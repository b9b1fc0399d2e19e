from __future__ import annotations

from datetime import date

from scheduling.used.tally import Count, Use, by_month, count, most_wasted_first


def use(day: date, surgeon: str, *, wasted: bool = False) -> Use:
    return Use(
        day=day,
        case="C1",
        surgeon=surgeon,
        wasted=wasted,
        why="dropped" if wasted else "",
        note="",
        role="stem",
        words="stem, size 12",
        ref="ST-12",
        lot="L1",
        serial="",
        owner="owned",
        code="B1",
        settled="",
    )


USES = [
    use(date(2027, 2, 28), "Ash"),
    use(date(2027, 3, 1), "Birch", wasted=True),
    use(date(2027, 2, 1), "Birch"),
    use(date(2027, 3, 31), "Ash", wasted=True),
    use(date(2027, 3, 31), "Birch", wasted=True),
]


def test_every_box_counts_once_in_its_month():
    assert by_month(USES) == [Count(date(2027, 2, 1), 2, 0), Count(date(2027, 3, 1), 0, 3)]


def test_who_wasted_most_stands_first():
    counted = most_wasted_first(count(USES, lambda one: one.surgeon))
    assert counted == [Count("Birch", 1, 2), Count("Ash", 1, 1)]
    assert [one.opened for one in counted] == [3, 2]


def test_nothing_is_counted_of_nothing():
    assert by_month([]) == []
