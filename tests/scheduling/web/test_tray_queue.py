from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.web.tray_queue import TrayState, queue

Two = tuple[Scenario, Report]
STORE = TrayState("sterile store", "owned")


def test_the_queue_has_each_use_the_unserved_and_the_idle(two_cases: Two) -> None:
    stored = {"BASE/1": STORE, "ADD/1": STORE}
    page = queue(*two_cases, case_pks={"A": 1, "B": 2}, states=stored, loan_hours_ahead=48)
    (day,) = page.days
    assert [(row.tray, row.case, row.case_pk, row.stage) for row in day.rows] == [
        ("ADD/1", "A", 1, "sterile store"),
        ("BASE/1", "A", 1, "sterile store"),
    ]
    assert all(row.ready_already for row in day.rows)
    assert [(row.case, row.purpose) for row in page.unserved] == [("B", "femoral preparation")]
    assert [tray.tray for tray in page.idle] == ["BASE/2"]


def test_a_tray_shows_what_it_lacks_that_its_case_needs(two_cases: Two) -> None:
    scenario, _ = two_cases
    trays = dict(scenario.trays)
    # Case A is size 12: it needs reamer 12 and perhaps 14, and has no use for a reamer of 15.
    trays["BASE/1"] = replace(trays["BASE/1"], missing={"REAM-14": 1, "REAM-15": 1})
    del trays["BASE/2"]
    short = replace(scenario, trays=trays)
    page = queue(short, decide(short), case_pks={}, states={}, loan_hours_ahead=48)
    (row,) = (row for row in page.days[0].rows if row.tray == "BASE/1")
    assert [(lack.words, lack.need, lack.met) for lack in row.lacks] == [
        ("reamer A, Ø 14 mm", "contingency", False)
    ]
    assert row.also_missing == 1


def test_the_same_tray_twice_says_after_whom(two_cases: Two) -> None:
    """With ten hours between them the one add-on set serves both."""
    scenario, _ = two_cases
    later = replace(scenario.cases["B"], start=scenario.cases["B"].start.replace(hour=19))
    both = replace(scenario, cases={**scenario.cases, "B": later})
    page = queue(both, decide(both), case_pks={}, states={}, loan_hours_ahead=48)
    (row,) = (row for row in page.days[0].rows if (row.tray, row.case) == ("ADD/1", "B"))
    assert row.after == "A"
    assert row.after_out is not None
    assert f"{row.after_out:%H:%M}" == "11:45"
    assert f"{row.ready:%H:%M}" == "18:15" if row.ready else False
    assert page.unserved == ()


@pytest.mark.parametrize(("hours", "too_near"), [(48, False), (72, True)])
def test_a_loan_that_comes_nearer_than_the_house_wants_is_flagged(
    two_cases: Two, hours: int, too_near: bool
) -> None:
    """Needed on Thursday, due on Monday evening, two and a half days before."""
    scenario, _ = two_cases
    due = scenario.site.now.replace(hour=19, minute=30)
    trays = dict(scenario.trays)
    del trays["BASE/2"]
    trays["BASE/1"] = replace(trays["BASE/1"], ready=None, arrives=due)
    case = scenario.cases["A"]
    thursday = replace(case, start=due.replace(hour=8, minute=30) + timedelta(days=3))
    awaited = replace(scenario, trays=trays, cases={"A": thursday})
    page = queue(awaited, decide(awaited), case_pks={}, states={}, loan_hours_ahead=hours)
    flags = {row.tray: (row.arrives, row.too_near) for row in page.rows}
    assert flags == {"BASE/1": (due, too_near), "ADD/1": (None, False)}
