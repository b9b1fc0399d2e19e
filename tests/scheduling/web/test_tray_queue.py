from __future__ import annotations

from dataclasses import replace

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.web.tray_queue import TrayState, queue

Two = tuple[Scenario, Report]
STORE = TrayState("sterile store", "owned")


def test_the_queue_has_each_use_the_unserved_and_the_idle(two_cases: Two) -> None:
    page = queue(*two_cases, case_pks={"A": 1, "B": 2}, states={"BASE/1": STORE, "ADD/1": STORE})
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
    page = queue(short, decide(short), case_pks={}, states={})
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
    page = queue(both, decide(both), case_pks={}, states={})
    (row,) = (row for row in page.days[0].rows if (row.tray, row.case) == ("ADD/1", "B"))
    assert row.after == "A"
    assert row.after_out is not None
    assert f"{row.after_out:%H:%M}" == "11:45"
    assert f"{row.ready:%H:%M}" == "18:15" if row.ready else False
    assert page.unserved == ()
