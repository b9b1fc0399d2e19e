"""The oracle itself: on the recorded scenarios, and on what can be counted by hand."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from tests.coverage_engine.oracle import expect
from tests.coverage_engine.oracle.clock import NEVER, Clock
from tests.coverage_engine.oracle.implants import use_by
from tests.coverage_engine.oracle.needs import rungs_of
from tests.coverage_engine.oracle.shrink import smallest
from tests.coverage_engine.oracle.verdict import projection

RECORDED = Path(__file__).parents[3] / "fixtures" / "scenarios"
NAMES = sorted(path.name[: -len(".expected.json")] for path in RECORDED.glob("*.expected.json"))
HOURS = {"fri": ["06:00", "22:00"], "sat": ["22:00", "24:00"], "sun": ["00:00", "05:00"]}


def read(name: str) -> Any:
    return json.loads((RECORDED / name).read_text())


@pytest.mark.parametrize("name", NAMES)
def test_recorded_scenarios(name: str) -> None:
    assert projection(expect(read(f"{name}.json"))) == read(f"{name}.expected.json")


def clock(**site: Any) -> Clock:
    return Clock({"now": "2026-03-27T12:00", "sterile_services": HOURS, **site})


def by_the_minute(clock: Clock, start: datetime, minutes: int) -> datetime:
    """The same as `after`, by looking at every minute on its own."""
    while minutes:
        local = clock.local(start)
        hours = clock.open_on(local.date())
        minutes -= hours is not None and hours[0] <= start < hours[1]
        start += timedelta(minutes=1)
    return start


@pytest.mark.parametrize("zone", ["UTC", "Europe/London", "America/New_York"])
def test_after_agrees_with_counting_minutes(zone: str) -> None:
    """Over the nights in which London changes its clock: 2026-03-29 and 2026-10-25."""
    rng = Random(zone)
    for now in ("2026-03-27T12:00", "2026-10-23T12:00"):
        here = clock(timezone=zone, now=now)
        for _ in range(15):
            start = here.now + timedelta(minutes=rng.randint(0, 3 * 24 * 60))
            minutes = rng.choice((1, 59, 60, 300, 700))
            assert here.after(start, minutes) == by_the_minute(here, start, minutes)


def test_after_nothing_and_after_never() -> None:
    here = clock(sterile_services={})
    assert here.after(here.now, 0) == here.now
    assert here.after(here.now, 1) == NEVER


@pytest.mark.parametrize(
    ("ordered", "lead", "arrives"),
    [
        ("2026-03-05T16:00", 1, "2026-03-06T12:00"),  # at the cut-off, a Thursday
        ("2026-03-05T16:01", 1, "2026-03-09T12:00"),  # after it: placed on Friday
        ("2026-03-07T09:00", 0, "2026-03-09T12:00"),  # a Saturday
        ("2026-03-05T12:00", 0, "2026-03-05T12:00"),
        ("2026-03-05T12:01", 0, "2026-03-06T12:00"),  # the delivery of the day has gone
        ("2026-03-09T09:00", 1, "2026-03-11T12:00"),  # the Tuesday is closed
    ],
)
def test_deliveries(ordered: str, lead: int, arrives: str) -> None:
    here = clock(closed_dates=["2026-03-10"])
    moments = [datetime.fromisoformat(text).replace(tzinfo=UTC) for text in (ordered, arrives)]
    assert here.delivered(moments[0], lead, None) == moments[1]


@pytest.mark.parametrize(
    ("supplier", "arrives"),
    [
        ({"order_cut_off": "10:00"}, "2026-03-09T12:00"),  # ordered on Thursday at noon
        ({"closed_dates": ["2026-03-05"]}, "2026-03-09T12:00"),
        ({}, "2026-03-06T12:00"),
    ],
)
def test_a_suppliers_own_terms(supplier: dict[str, Any], arrives: str) -> None:
    ordered = datetime(2026, 3, 5, 12, tzinfo=UTC)
    assert clock().delivered(ordered, 1, supplier) == datetime.fromisoformat(f"{arrives}Z")


@pytest.mark.parametrize(
    ("ladder", "rungs"),
    [
        ({}, [10, 11, 13, 14]),
        ({"from": 11}, [11, 13, 14]),
        ({"to": 12}, [10, 11]),
        ({"at": 12}, []),
        ({"at": 12, "below": 1, "above": 1}, [11, 13]),
        ({"at": 11, "below": 5, "above": 5}, [10, 11, 13, 14]),
        ({"from": 13, "to": 10, "below": 1, "above": 1}, [11]),
        ({"to": 10, "below": 2, "above": 1}, [10, 11]),
        ({"from": 14, "above": 2}, [14]),
    ],
)
def test_ladders(ladder: dict[str, int], rungs: list[int]) -> None:
    items = [{"size": size} for size in (14, 10, 11, 13, 11)] + [{}]
    assert sorted(rungs_of(items, "size", ladder)) == rungs


@pytest.mark.parametrize(
    ("expiry", "last_day"),
    [("2026-02", "2026-02-28"), ("2028-02", "2028-02-29"), ("2026-12", "2026-12-31")],
)
def test_a_use_by_month_ends_on_its_last_day(expiry: str, last_day: str) -> None:
    assert use_by({"expiry": expiry}).isoformat() == last_day


def test_shrinking_keeps_what_shows_the_trouble() -> None:
    big = {"cases": [{"ref": "A", "minutes": 60}, {"ref": "B", "minutes": 90}], "shelf": [1, 2]}

    def shows_it(entry: dict[str, Any]) -> bool:
        return any(case.get("ref") == "B" for case in entry.get("cases", []))

    assert smallest(big, shows_it) == {"cases": [{"ref": "B"}]}
