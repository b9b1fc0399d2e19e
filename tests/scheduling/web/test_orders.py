from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario, Unit
from scheduling.web.orders import Orders, orders

Two = tuple[Scenario, Report]


def page_of(scenario: Scenario) -> Orders:
    return orders(scenario, decide(scenario), case_pks={"A": 1, "B": 2}, short_dated_days=90)


def shelf_of(scenario: Scenario, **units: Any) -> Scenario:
    """The scenario with its boxes of the planned stem replaced by `units`."""
    shelf = {c: u for c, u in scenario.shelf.items() if u.implant != "STEM-12-STAN-225"}
    for code, values in units.items():
        standard = {"implant": "STEM-12-STAN-225", "expiry": date(2031, 12, 31)}
        shelf[code] = Unit(code=code, **{**standard, **values})
    return replace(scenario, shelf=shelf)


def lead(scenario: Scenario, days: int | None) -> Scenario:
    item = replace(scenario.implants["STEM-12-STAN-225"], lead_days=days)
    return replace(scenario, implants={**scenario.implants, item.ref: item})


def test_nothing_to_order_where_nothing_is_short(two_cases: Two) -> None:
    assert page_of(two_cases[0]).short == ()


def test_a_gap_names_item_cases_and_the_last_moment(two_cases: Two) -> None:
    """Monday 9 March 09:00; A needs the stem on Tuesday at 07:30: with no lead time an order
    still comes at 12:00 today if it is placed by then."""
    (gap,) = page_of(lead(shelf_of(two_cases[0]), 0)).short
    assert gap.words == "stem A, size 12, STANDARD offset, 225 mm"
    assert gap.number == 2
    assert [(want.case, want.need, want.number) for want in gap.wants] == [
        ("A", "planned", 1),
        ("B", "planned", 1),
    ]
    assert gap.order_by is not None
    assert f"{gap.order_by:%d %H:%M}" == "09 12:00"


def test_too_late_and_no_lead_time_are_two_things(two_cases: Two) -> None:
    (late,) = page_of(lead(shelf_of(two_cases[0]), 2)).short
    assert (late.orderable, late.order_by) == (True, None)
    (unknown,) = page_of(lead(shelf_of(two_cases[0]), None)).short
    assert (unknown.orderable, unknown.order_by) == (False, None)


def test_boxes_on_their_way_the_overdue_first(two_cases: Two) -> None:
    scenario = shelf_of(
        two_cases[0],
        LATER={"arrives": datetime(2026, 3, 9, 12, 0, tzinfo=UTC)},
        OVERDUE={"arrives": datetime(2026, 3, 6, 12, 0, tzinfo=UTC)},
    )
    boxes = page_of(scenario).boxes
    assert [(box.unit, box.overdue) for box in boxes] == [("OVERDUE", True), ("LATER", False)]
    assert [box.promise.case if box.promise else "" for box in boxes] == ["", "A"]


def test_like_boxes_that_are_short_dated_stand_in_one_row(two_cases: Two) -> None:
    soon = {"expiry": date(2026, 4, 30), "lot": "L9"}
    scenario = shelf_of(two_cases[0], X1=soon, X2=soon, X3=soon, X4={**soon, "lot": "L8"})
    rows = page_of(scenario).short_dated
    assert [(row.lot, row.units) for row in rows] == [("L9", ("X1", "X2", "X3")), ("L8", ("X4",))]
    assert rows[0].promised == (("A", 1, 1), ("B", 2, 1))
    assert rows[0].free == 1


def test_a_box_on_hold_is_shown_as_such_only(two_cases: Two) -> None:
    page = page_of(shelf_of(two_cases[0], X1={"hold": "recalled", "expiry": date(2026, 3, 1)}))
    assert page.short_dated == ()
    assert [(row.units, row.hold, row.past) for row in page.on_hold] == [
        (("X1",), "recalled", True)
    ]


def test_many_boxes_that_come_together_for_nobody_are_one_row(two_cases: Two) -> None:
    scenario = two_cases[0]
    noon, later = scenario.site.now + timedelta(hours=3), scenario.site.now + timedelta(days=9)
    loan = {f"L{n}": {"arrives": later, "owner": "loan"} for n in range(5)}
    few = {f"F{n}": {"arrives": later, "owner": "owned"} for n in range(4)}
    counted_on = {"A1": {"arrives": noon}, "A2": {"arrives": noon}}
    page = page_of(shelf_of(scenario, **loan, **few, **counted_on))
    assert [[box.unit for box in row] for row in page.arrivals] == [
        ["A1"],
        ["A2"],
        ["L0", "L1", "L2", "L3", "L4"],
        ["F0"],
        ["F1"],
        ["F2"],
        ["F3"],
    ]
