"""Pick lists made by hand, and the lists of the demonstration."""

from __future__ import annotations

from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report, Verdict
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Need, Scenario
from scheduling.pick_lists.content import content_of
from scheduling.pick_lists.values import Absent, Content, Kind, Line, Printing, Section

LONDON = ZoneInfo("Europe/London")
ADDRESS = "http://127.0.0.1:8000"
START = datetime(2027, 3, 9, 8, 30, tzinfo=LONDON)


def box(code: str = "U1", **values: Any) -> Line:
    given: dict[str, Any] = {
        "need": Need.PLANNED,
        "role": "stem",
        "item": "ST-12H-225",
        "words": "size 12, HIGH offset, 225 mm",
        "location": "Shelf A-2",
        "link": f"HTTP://127.0.0.1:8000/u/{code}",
        "lot": "LA1",
        "use_by": date(2028, 7, 31),
    }
    return Line(kind=Kind.BOX, code=code, **given | values)


def tray(code: str = "BASE/1", **values: Any) -> Line:
    given: dict[str, Any] = {
        "need": Need.PLANNED,
        "role": "base set",
        "item": "BASE",
        "words": "Line A base set",
        "location": "Store R-1",
        "link": "HTTP://127.0.0.1:8000/8004/029999900001",
    }
    return Line(kind=Kind.TRAY, code=code, **given | values)


def section(case: str = "C-1", **values: Any) -> Section:
    given: dict[str, Any] = {
        "theatre": "2",
        "side": "left",
        "start": START,
        "needed_by": START.replace(hour=7),
        "verdict": Verdict.COVERED,
    }
    return Section(case=case, **given | values)


def content(*sections: Section, **values: Any) -> Content:
    return Content(title="Case C-1", sections=sections, **values)


def printing(of: Content) -> Printing:
    return Printing(
        site="Ottermere General",
        code="K7QM4F",
        number=2,
        as_of=datetime(2027, 3, 8, 16, 0, tzinfo=LONDON),
        printed_at=datetime(2027, 3, 8, 16, 5, tzinfo=LONDON),
        link="HTTP://127.0.0.1:8000/l/K7QM4F/2/",
        content=of,
    )


ABSENT = Absent("Reamer, Ø 14 mm", "REAM-14", Need.PLANNED, 1, "short", ("missing from ADD/2",))


@cache
def demonstration() -> tuple[Scenario, Report]:
    scenario = read_scenario(Path("fixtures/demonstration.json").read_text(encoding="utf-8"))
    return scenario, decide(scenario)


def demonstration_list(*cases: str, **values: Any) -> Content:
    scenario, report = demonstration()
    assets = {code: f"0299999{i:05}" for i, code in enumerate(sorted(scenario.trays))}
    given: dict[str, Any] = {"address": ADDRESS, "assets": assets, "title": f"Case {cases[0]}"}
    return content_of(scenario, report, cases, **given | values)


def demonstration_day(theatre: str, day: date) -> Content:
    scenario, _ = demonstration()
    zone = ZoneInfo(scenario.site.timezone)
    cases = [
        case.ref
        for case in scenario.cases.values()
        if case.theatre == theatre and case.start.astimezone(zone).date() == day
    ]
    return demonstration_list(*cases, title=f"{theatre}, {day}", is_day=True)
