from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from scheduling.web.day_line import HOUR_WIDTH, WIDTH, Stay, day_line, position

LONDON = ZoneInfo("Europe/London")
DAY = date(2027, 3, 1)


def at(hour: int, minute: int = 0, day: date = DAY) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=LONDON)


def stay(case: str, needed: datetime, **values: Any) -> Stay:
    """Three and a half hours with the case, then six of turnaround; ready the evening before."""
    out = needed + timedelta(hours=3, minutes=30)
    standard: dict[str, Any] = {
        "theatre": "Theatre 1",
        "start": needed + timedelta(hours=1),
        "out": out,
        "ready": needed - timedelta(hours=12),
        "turned_round": out + timedelta(hours=6),
    }
    return Stay(case=case, needed_by=needed, **{**standard, **values})


@pytest.mark.parametrize(
    ("moment", "x"),
    [
        (at(6), 0),
        (at(5), 0),
        (at(14), WIDTH / 2),
        (at(22), WIDTH),
        (at(23), WIDTH),
        (at(9, day=date(2027, 3, 2)), WIDTH),
    ],
)
def test_where_a_moment_stands(moment: datetime, x: float) -> None:
    assert position(DAY, moment) == x


def test_the_clock_change_does_not_bend_the_line() -> None:
    """On 28 March 2027 London's clocks go forward at 01:00 UTC: 08:00 is still two hours in."""
    assert position(date(2027, 3, 28), at(8, day=date(2027, 3, 28))) == 2 * HOUR_WIDTH


def test_a_tray_is_with_its_case_then_in_turnaround() -> None:
    (row,) = day_line(DAY, [("BASE/1", "Base set", [stay("C1", at(7, 30), forecast=False)])]).rows
    assert [(bar.kind, bar.x, bar.width) for bar in row.bars] == [
        ("theatre", 90, 210),
        ("turnaround", 300, 360),
    ]
    assert row.marks[0].text == "07:30"
    assert row.words == "C1 in Theatre 1: needed by 07:30, out 11:00, ready long before"


def test_the_slack_stands_between_ready_and_needed_by() -> None:
    first = stay("C1", at(7, 30), forecast=False)
    second = stay("C2", at(18), ready=at(17), turned_round=None)
    (row,) = day_line(DAY, [("BASE/1", "Base set", [first, second])]).rows
    assert [(bar.kind, bar.x, bar.width) for bar in row.bars[2:]] == [
        ("slack", 660, 60),
        ("theatre", 720, 210),
        ("turnaround", 930, 30),
    ]
    assert row.marks[1].text == "slack 60 min · 18:00"
    assert row.words.endswith("; C2 in Theatre 1: needed by 18:00, out 21:30, slack 60 min")


def test_a_fast_track_is_said_and_never_drawn_over_the_next_case() -> None:
    first = stay("C1", at(7, 30), forecast=False)
    second = stay("C2", at(16, 45), ready=at(16, 30), fast_track=True)
    (row,) = day_line(DAY, [("BASE/1", "Base set", [first, second])]).rows
    turnaround = row.bars[1]
    assert (turnaround.kind, turnaround.x + turnaround.width) == ("turnaround", 645)
    assert row.marks[1].text == "fast track · slack 15 min · 16:45"


def test_a_tray_that_is_never_ready_says_so() -> None:
    (row,) = day_line(DAY, [("BASE/1", "", [stay("C1", at(8), ready=None)])]).rows
    assert row.words.endswith("never ready")
    assert row.marks[0].text == "08:00"


def test_the_text_of_an_early_mark_stands_after_it() -> None:
    (row,) = day_line(
        DAY, [("BASE/1", "", [stay("C1", at(7)), stay("C2", at(18), ready=at(17))])]
    ).rows
    assert [mark.anchor for mark in row.marks] == ["start", "end"]
