from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from scheduling.coverage.clock import Clock
from scheduling.coverage.report import Report, Status
from scheduling.coverage.values import Scenario, Tray
from scheduling.web.arrangement import TrayUse, uses_by_tray
from scheduling.web.tray_times import Readiness, Speed, readiness

Two = tuple[Scenario, Report]

# Sterile services are open 06:00 to 22:00 on 9 and 10 March 2026; BASE takes 360 or 270 minutes.
NOW = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)


def use(case: str, needed_by: datetime) -> TrayUse:
    out = needed_by + timedelta(hours=4, minutes=15)
    return TrayUse("BASE/1", case, "femoral preparation", Status.HELD, needed_by, out)


def for_a(scenario: Scenario, **values: Any) -> Readiness:
    """How BASE/1, described by `values`, is ready for case A, needed by 07:30 on the 10th."""
    tray = Tray(code="BASE/1", configuration="BASE", **values)
    uses = [use("A", datetime(2026, 3, 10, 7, 30, tzinfo=UTC))]
    (said,) = readiness(scenario, Clock(scenario.site), tray, uses)
    return said


@pytest.mark.parametrize("ready", [NOW, None])
def test_a_tray_in_the_store_is_ready_when_it_is(ready: datetime | None, two_cases: Two) -> None:
    scenario, _ = two_cases
    assert for_a(scenario, ready=ready) == Readiness(NOW, Speed.STANDARD, 22 * 60 + 30)


def test_a_loan_is_checked_in_and_reprocessed_first(two_cases: Two) -> None:
    """Arrives at 10:00, two hours of check-in, six of turnaround: 18:00."""
    scenario, _ = two_cases
    arrives = datetime(2026, 3, 9, 10, 0, tzinfo=UTC)
    assert for_a(scenario, arrives=arrives) == Readiness(
        datetime(2026, 3, 9, 18, 0, tzinfo=UTC), Speed.AWAITED, 13 * 60 + 30
    )


def test_a_sterile_date_that_ends_too_soon_means_reprocessing(two_cases: Two) -> None:
    scenario, _ = two_cases
    ends = datetime(2026, 3, 10, 8, 0, tzinfo=UTC)
    said = for_a(scenario, ready=NOW, sterile_until=ends)
    assert said.reprocess
    assert said.ready == datetime(2026, 3, 9, 15, 0, tzinfo=UTC)


def test_fast_track_only_where_the_standard_would_be_late(two_cases: Two) -> None:
    scenario, _ = two_cases
    tray = scenario.trays["BASE/1"]
    first = use("A", datetime(2026, 3, 10, 7, 30, tzinfo=UTC))  # out 11:45
    later = [
        use("B", datetime(2026, 3, 10, hour, minute, tzinfo=UTC))
        for hour, minute in ((17, 45), (17, 44), (16, 15), (16, 14))
    ]
    said = [readiness(scenario, Clock(scenario.site), tray, [first, second])[1] for second in later]
    assert [(ready.speed, ready.slack_minutes) for ready in said] == [
        (Speed.STANDARD, 0),
        (Speed.FAST_TRACK, 89),
        (Speed.FAST_TRACK, 0),
        (Speed.STANDARD, -91),
    ]


def test_without_opening_hours_ahead_it_is_never_ready(two_cases: Two) -> None:
    scenario, _ = two_cases
    closed = replace(scenario, site=replace(scenario.site, opening={}))
    said = for_a(closed, arrives=datetime(2026, 3, 9, 10, 0, tzinfo=UTC))
    assert said == Readiness(None, Speed.AWAITED, None)


def test_uses_are_found_by_tray_in_time_order(two_cases: Two) -> None:
    _, report = two_cases
    assert {code: [use.case for use in uses] for code, uses in uses_by_tray(report).items()} == {
        "BASE/1": ["A"],
        "ADD/1": ["A"],
    }
