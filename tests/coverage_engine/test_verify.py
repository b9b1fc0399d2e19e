"""The checker finds nothing in a good report, and every breach that is planted in one."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Lean, Line, Report, SetLine, Status, Verdict
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Need, Scenario
from scheduling.coverage.verify import verify
from tests.coverage_engine.planting import (
    GOOD,
    Plant,
    another_tray,
    moment,
    more_stock,
    of_booking,
    of_line,
    of_report,
    of_set,
    of_tray,
    of_unit,
    said,
    without_line,
)
from tests.coverage_engine.random_scenarios import scenario as random_scenario

ROOT = Path(__file__).parents[2] / "fixtures"
FIXTURES = [
    ROOT / "demonstration.json",
    *(
        path
        for path in sorted((ROOT / "scenarios").glob("*.json"))
        if not path.stem.endswith(".expected")
    ),
]


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return read_scenario(json.dumps(GOOD))


@pytest.fixture(scope="module")
def report(scenario: Scenario) -> Report:
    return decide(scenario)


PLANNED, CONTINGENCY, SPARE = Need.PLANNED, Need.CONTINGENCY, Need.SPARE
SET = "femoral preparation"

BREACHES: dict[str, tuple[Plant, str]] = {
    # the cases and the verdict
    "a case is left out": (
        of_report(lambda report: replace(report, cases=report.cases[1:])),
        "A: not reported",
    ),
    "a case is reported twice": (
        of_report(lambda report: replace(report, cases=(*report.cases, report.cases[-1]))),
        "C: reported 2 times",
    ),
    "a case that is not booked": (said("A", case="X"), "X: there is no such case"),
    "the cases are out of order": (
        of_report(lambda report: replace(report, cases=report.cases[::-1])),
        "the cases are not in time order",
    ),
    "the report of another moment": (
        of_report(lambda report: replace(report, now=report.now - timedelta(hours=1))),
        "the report is of another moment",
    ),
    "needed too late": (
        said("A", needed_by=moment("2026-03-02T08:00")),
        "A: needed by 2026-03-02 07:30 UTC, not as reported",
    ),
    "out too early": (
        said("A", out=moment("2026-03-02T10:00")),
        "A: out by 2026-03-02 10:45 UTC, not as reported",
    ),
    "a flattering verdict": (
        said("B", verdict=Verdict.COVERED),
        "B: covered, but its lines make it at risk",
    ),
    "covered with a question": (
        said("A", questions=("films seen",), verdict=Verdict.COVERED),
        "A: covered, but its lines make it not known",
    ),
    "covered after giving up": (
        said("A", gave_up=True),
        "A: covered, but its lines make it not known",
    ),
    # the plan
    "a question that is not told": (
        of_booking("A", confirmed=frozenset()),
        "A: questions are ['films seen'], not []",
    ),
    "a fault that is not told": (
        of_booking("A", components={}),
        "A: faults are ['reamer: technique asks for one, catalogue holds none'], not []",
    ),
    "a need without a line": (
        without_line("A", PLANNED, "REAM-10"),
        "A, planned REAM-10: 1 needed, no line",
    ),
    "a line without a need": (
        said("A", lines=(Line(PLANNED, "HNDL", 1, 1, 0, 0, 0),)),
        "A, planned HNDL: the plan does not ask for it",
    ),
    "a line that asks for less": (
        of_line("B", CONTINGENCY, "STEM-11", quantity=0, short=0),
        "B, contingency STEM-11: 1 needed, the line says 0",
    ),
    "a line that does not add up": (
        of_line("B", CONTINGENCY, "STEM-11", short=0),
        "B, contingency STEM-11: 1 asked, (0, 0, 0, 0) do not add up to it",
    ),
    "a set that is not told": (said("A", sets=()), f"A: asks for the sets ['{SET}']"),
    # units
    "a unit given twice": (
        of_line("B", CONTINGENCY, "STEM-11", units=("T11-1",), held=1, short=0),
        "T11-1 is given 2 times: A, B",
    ),
    "a unit of another item": (
        of_line("A", SPARE, "HEAD-32", units=("T11-1",)),
        "A, spare HEAD-32: T11-1 is no unit of it",
    ),
    "a unit on hold": (
        of_unit("T11-1", hold="recalled"),
        "A, contingency STEM-11: T11-1 cannot serve: on hold (recalled)",
    ),
    "a unit past its date": (
        of_unit("T10-2", expiry=date(2026, 3, 1)),
        "A, planned STEM-10: T10-2 cannot serve: use by 2026-03-01",
    ),
    "a unit that is overdue": (
        of_unit("T10-2", arrives=moment("2026-03-02T04:59")),
        "A, planned STEM-10: T10-2 cannot serve: overdue",
    ),
    "a unit that arrives too late": (
        of_unit("T10-3", arrives=moment("2026-03-04T07:31")),
        "C, planned STEM-10: T10-3 cannot serve: arrives too late",
    ),
    "held, though on order": (
        of_line("C", PLANNED, "STEM-10", held=1, conditional=0),
        "C, planned STEM-10: 1 held, but its units make 0",
    ),
    "held, by no unit": (
        of_line("B", CONTINGENCY, "STEM-11", held=1, short=0),
        "B, contingency STEM-11: 1 held, but its units make 0",
    ),
    "a reservation that is not kept": (
        of_booking("A", reserved_units=("T10-1",)),
        "A: its reserved unit T10-1 is not its planned unit",
    ),
    "short beside a free unit": (
        more_stock("T11-9", "STEM-11", None),
        "B, contingency STEM-11: short, though T11-9 could have been held for it",
    ),
    "on order beside a free unit": (
        more_stock("T10-9", "STEM-10", None),
        "C, planned STEM-10: on order, though T10-9 could have been held for it",
    ),
    "an older unit left on the shelf": (
        more_stock("H32-0", "HEAD-32", date(2026, 3, 5)),
        "C, spare HEAD-32: has H32-3, though H32-0 expires first and is free",
    ),
    # sharing
    "leaning on a planned unit": (
        of_line("B", CONTINGENCY, "STEM-11", leans_on=(Lean("T11-1", "C"),), shared=1, short=0),
        "B, contingency STEM-11: leans on T11-1: it is not a contingency unit of C",
    ),
    "leaning before it is back": (
        of_line("B", CONTINGENCY, "STEM-11", leans_on=(Lean("T11-1", "A"),), shared=1, short=0),
        "B, contingency STEM-11: leans on T11-1: neither replaced nor back on the shelf by then",
    ),
    "a spare that leans": (
        of_line("C", SPARE, "HEAD-32", leans_on=(Lean("H32-1", "A"),)),
        "C, spare HEAD-32: leans on H32-1: only contingency is shared",
    ),
    "leaning twice on one unit": (
        of_line("C", CONTINGENCY, "STEM-11", leans_on=(Lean("T11-1", "A"),) * 2),
        "C leans on T11-1 2 times",
    ),
    # trays
    "uses too near each other": (
        of_booking("B", start=moment("2026-03-02T13:30")),
        "B: BASE/1 cannot be there in time",
    ),
    "a tray that is withdrawn": (
        of_tray("BASE/1", withdrawn=True),
        "A: BASE/1 cannot be there in time",
    ),
    "a loan that is overdue": (
        of_tray("BASE/1", ready=None, arrives=moment("2026-03-02T04:00")),
        "A: BASE/1 cannot be there in time",
    ),
    "a tray that is ready too late": (
        of_tray("BASE/1", ready=moment("2026-03-02T07:31")),
        "A: BASE/1 cannot be there in time",
    ),
    "a tray no longer sterile at the end": (
        of_tray("BASE/1", sterile_until=moment("2026-03-02T10:29")),
        "A: BASE/1 cannot be there in time",
    ),
    "held, though fast-tracked": (
        of_set("B", status=Status.HELD),
        f"B, {SET}: held, but BASE/1 is there only conditionally",
    ),
    "conditional, though held": (
        of_set("A", status=Status.CONDITIONAL),
        f"A, {SET}: conditional, but all of its trays are there",
    ),
    "short, with a tray": (of_set("A", status=Status.SHORT), f"A, {SET}: short, but has trays"),
    "a tray that does not exist": (
        of_set("A", trays=("BASE/7",)),
        "A: there is no tray BASE/7",
    ),
    "a tray of another kind": (
        of_set("A", trays=("SP/1",)),
        f"A, {SET}: SP/1 is not one tray of each configuration",
    ),
    "an option that is not offered": (
        of_set("A", option=("SP-REAM-11",), trays=("SP/1",)),
        f"A, {SET}: the technique has no option SP-REAM-11",
    ),
    "conditional beside an unused tray": (
        another_tray("BASE/2", "BASE"),
        f"B, {SET}: conditional, though unused trays would hold it",
    ),
    "a set tray as a pack": (
        said("B", packs=("SP/2", "BASE/1")),
        "B: BASE/1 is there 2 times",
    ),
    # instruments
    "contents that lack the instrument": (
        of_tray("BASE/1", missing={"REAM-10": 1}),
        "A, planned REAM-10: 1 held, 0 conditional, 0 short, but its trays and packs make it short",
    ),
    "an instrument held by no pack": (
        said("A", packs=()),
        "A, contingency REAM-11: 1 held, 0 conditional, 0 short, "
        "but its trays and packs make it short",
    ),
    "a pack for nothing": (said("C", packs=("SP/1", "SP/2")), "C: nothing needs SP/2"),
    "a reserved pack that is not there": (
        of_booking("C", reserved_trays=("SP/2",)),
        "C: its reserved pack SP/2 is not with it",
    ),
    "a reserved tray that is not there": (
        lambda scenario, report: of_booking("A", reserved_trays=("BASE/2",))(
            *another_tray("BASE/2", "BASE")(scenario, report)
        ),
        "A: its reserved tray BASE/2 is not with it",
    ),
}


def test_the_good_report_says_what_its_description_says(report: Report) -> None:
    leans = {
        told.case: [lean for line in told.lines for lean in line.leans_on] for told in report.cases
    }
    assert leans == {"A": [], "B": [], "C": [Lean("T11-1", "A")]}
    assert [told.sets[0].status for told in report.cases] == ["held", "conditional", "held"]
    assert [told.verdict for told in report.cases] == ["covered", "at risk", "at risk"]


def test_nothing_is_found_in_a_good_report(scenario: Scenario, report: Report) -> None:
    assert verify(scenario, report) == []


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_nothing_is_found_in_the_reports_on_recorded_scenarios(path: Path) -> None:
    recorded = read_scenario(path.read_text())
    assert verify(recorded, decide(recorded)) == []


@pytest.mark.parametrize("seed", range(150))
def test_nothing_is_found_in_the_engines_own_reports(seed: int) -> None:
    drawn = read_scenario(json.dumps(random_scenario(seed)))
    assert verify(drawn, decide(drawn)) == []


@pytest.mark.parametrize(("plant", "breach"), BREACHES.values(), ids=BREACHES.keys())
def test_a_planted_breach_is_found(
    scenario: Scenario, report: Report, plant: Plant, breach: str
) -> None:
    assert breach in verify(*plant(scenario, report))


def test_a_short_set_beside_an_unused_tray_is_found(scenario: Scenario, report: Report) -> None:
    nothing = SetLine(SET, Status.SHORT)
    cases = tuple(replace(told, sets=(nothing,)) for told in report.cases)
    found = verify(scenario, replace(report, cases=cases))
    assert f"A, {SET}: short, though unused trays would hold it" in found


def test_an_unused_pack_is_found(scenario: Scenario, report: Report) -> None:
    cases = tuple(replace(told, packs=()) for told in report.cases)
    found = verify(scenario, replace(report, cases=cases))
    assert "A, contingency REAM-11: not held, though SP/1 is unused" not in found  # it says held
    short = of_line("A", CONTINGENCY, "REAM-11", held=0, short=1)
    found = verify(*short(scenario, replace(report, cases=cases)))
    assert "A, contingency REAM-11: not held, though SP/1 is unused" in found
