from __future__ import annotations

from scheduling.coverage.values import Need
from scheduling.pick_lists.walking import natural, walking
from tests.scheduling.pick_lists.samples import box


def test_numbers_in_a_location_are_read_as_numbers():
    locations = ["Shelf A-10", "Shelf A-2", "shelf a-1", "", "Shelf B-1", "2", "10"]
    assert sorted(locations, key=natural) == [
        "2",
        "10",
        "shelf a-1",
        "Shelf A-2",
        "Shelf A-10",
        "Shelf B-1",
        "",
    ]


def test_at_one_location_planned_comes_first_then_the_ref():
    lines = [
        box("U3", need=Need.SPARE, item="ST-2"),
        box("U2", need=Need.CONTINGENCY, item="ST-10"),
        box("U1", need=Need.CONTINGENCY, item="ST-9"),
        box("U0", need=Need.PLANNED, item="ST-12"),
    ]
    assert [line.code for line in sorted(lines, key=walking)] == ["U0", "U1", "U2", "U3"]
