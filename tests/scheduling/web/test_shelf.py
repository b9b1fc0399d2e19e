from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from typing import Any

import pytest

from scheduling.coverage.report import Report
from scheduling.coverage.values import Implant, Need, Scenario, Unit
from scheduling.web.arrangement import Promise
from scheduling.web.shelf import axes, shelf_line, shelf_lines, shelf_state

NOW = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)
TODAY, SHORT = date(2026, 3, 9), date(2026, 6, 7)


def item(ref: str, **attributes: Any) -> Implant:
    return Implant(ref, "head", attributes=attributes)


@pytest.mark.parametrize(
    ("values", "promised", "state"),
    [
        ({}, False, "free"),
        ({}, True, "promised"),
        ({"hold": "recalled"}, True, "not-usable"),
        ({"expiry": date(2026, 3, 8)}, False, "not-usable"),
        ({"expiry": TODAY}, False, "short-dated"),
        ({"expiry": date(2026, 6, 6)}, True, "promised"),
        ({"expiry": SHORT}, False, "free"),
        ({"expiry": None}, False, "free"),
        ({"arrives": NOW}, True, "on-order"),
    ],
)
def test_each_box_counts_in_one_state(values: dict[str, Any], promised: bool, state: str) -> None:
    box = Unit(**{"code": "U1", "implant": "H", "expiry": date(2031, 12, 31), **values})
    promise = Promise("U1", "A", Need.PLANNED, NOW) if promised else None
    assert shelf_state(box, promise, TODAY, SHORT) == state


def test_rows_and_columns_are_what_differs() -> None:
    heads = [
        item(f"H{d}{n}", diameter=d, neck_length=n, material="metal")
        for d in (32, 36)
        for n in (-4, 0, 4)
    ]
    assert axes(heads) == (("diameter",), ("neck_length",))
    line = shelf_line(1, "head", "head", heads, {head.ref: Counter(free=2) for head in heads})
    assert line.columns == ("neck −4 mm", "neck +0 mm", "neck +4 mm")
    assert [row.label for row in line.rows] == ["Ø 32 mm", "Ø 36 mm"]
    assert (line.boxes, line.free) == (12, 12)


def test_a_size_that_is_not_made_is_an_empty_place() -> None:
    heads = [item("A", diameter=32, neck_length=0), item("B", diameter=36, neck_length=4)]
    line = shelf_line(1, "head", "head", heads, {head.ref: Counter() for head in heads})
    assert [[cell.ref if cell else None for cell in row.cells] for row in line.rows] == [
        ["A", None],
        [None, "B"],
    ]


def test_items_that_attributes_do_not_tell_apart_stand_under_their_refs() -> None:
    twins = [item("A", diameter=32), item("B", diameter=32)]
    assert axes(twins) == (("ref",), ())


def test_every_box_of_the_house_is_counted(two_cases: tuple[Scenario, Report]) -> None:
    scenario, report = two_cases
    lines = shelf_lines(scenario, report, short_dated_days=90)
    assert [line.words for line in lines] == ["cable", "head, taper T1", "stem A"]
    assert sum(line.boxes for line in lines) == len(scenario.shelf)
    stems = lines[2]
    assert stems.columns[0] == "190 mm, STANDARD offset"
    (size_12,) = (row for row in stems.rows if row.label == "size 12")
    promised = [dict(cell.others).get("promised", 0) for cell in size_12.cells if cell]
    assert promised[2] == 2  # the planned stem of both cases, 225 mm standard
