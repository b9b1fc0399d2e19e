from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.values import Scenario
from scheduling.shelf.stock_over_time import Kind, StockOverTime, stock_over_time
from scheduling.web.shelf_pages.stock_picture import stock_picture
from tests.coverage_engine.build import box, implant, scenario, wants


def stock_of(*entries: Any) -> StockOverTime:
    """Of STEM-12; it is Monday 1 March, 06:00."""
    given: Scenario = scenario(implant("STEM-12"), *entries)
    return stock_over_time(given, decide(given), "STEM-12")


def march(day: int) -> date:
    return date(2027, 3, day)


def test_booked_use_takes_boxes_day_by_day() -> None:
    stock = stock_of(
        box("U1", "STEM-12"),
        box("U2", "STEM-12"),
        wants("C1", "Tue 08:00", planned="STEM-12"),
        wants("C2", "Thu 08:00", contingency="STEM-12"),
    )
    assert stock.planned.levels == ((march(1), 2), (march(2), 1))
    assert stock.wanted.levels == ((march(1), 2), (march(2), 1), (march(4), 0))
    assert stock.planned.runs_short is None


def test_the_day_on_which_it_runs_short_names_the_case() -> None:
    stock = stock_of(
        box("U1", "STEM-12"),
        wants("C1", "Tue 08:00", planned="STEM-12"),
        wants("C2", "Thu 08:00", planned={"STEM-12": 2}),
    )
    short = stock.planned.runs_short
    assert short is not None
    assert (short.day, short.who, short.number, short.missing) == (march(4), "C2", 2, 2)
    assert stock.planned.levels[-1] == (march(4), 0)


def test_the_first_to_expire_is_used_first_and_the_rest_passes_its_date() -> None:
    """Use by is inclusive: gone on the day after."""
    stock = stock_of(
        box("U1", "STEM-12", expiry=march(3)),
        box("U2", "STEM-12", expiry=march(5)),
        wants("C1", "Tue 08:00", planned="STEM-12"),
    )
    assert [(event.day, event.kind) for event in stock.planned.events] == [
        (march(2), Kind.USED),
        (march(6), Kind.EXPIRES),
    ]


def test_a_box_on_its_way_counts_from_its_day_and_an_overdue_one_not() -> None:
    stock = stock_of(
        box("U1", "STEM-12", arrives="Wed 12:00"),
        box("U2", "STEM-12", arrives="Mon 05:00"),
        box("U3", "STEM-12", hold="dropped"),
        box("U4", "STEM-12", expiry=date(2027, 2, 28)),
        wants("C1", "Wed 16:00", planned="STEM-12"),
    )
    assert stock.planned.start == 0
    assert stock.planned.levels == ((march(1), 0), (march(3), 0))
    assert stock.planned.runs_short is None


def test_the_days_shown_reach_a_week_past_the_last_case() -> None:
    assert stock_of(box("U1", "STEM-12", expiry=date(2031, 1, 1))).until == march(29)
    late = stock_of(wants("C1", "Mon 5 Apr 08:00", planned="STEM-12"))
    assert late.until == date(2027, 4, 12)


def test_no_such_item() -> None:
    given = scenario()
    with pytest.raises(KeyError):
        stock_over_time(given, decide(given), "STEM-12")


def test_the_picture_is_stairs_from_the_first_day_to_the_last() -> None:
    """Two boxes over 28 days: y = 20 is two, 123 is one, 226 is none."""
    stock = stock_of(
        box("U1", "STEM-12"),
        box("U2", "STEM-12"),
        wants("C1", "Mon 8 Mar 08:00", planned="STEM-12"),
    )
    picture = stock_picture(stock, 1)
    assert picture.planned == "M40.0 20.0H203.0V123.0V123.0H692.0"
    assert [(rule.text, rule.y) for rule in picture.rules] == [("0", 226), ("1", 123), ("2", 20)]
    assert picture.reorder is not None
    assert (picture.reorder.y, picture.short) == (123, None)
    assert [week.text for week in picture.weeks][:2] == ["1 Mar", "8 Mar"]


def test_the_picture_marks_where_it_runs_short() -> None:
    stock = stock_of(wants("C1", "Mon 8 Mar 08:00", planned="STEM-12"))
    picture = stock_picture(stock, None)
    assert picture.short is not None
    assert (picture.short.x, picture.short.y, picture.reorder) == (203, 226, None)
