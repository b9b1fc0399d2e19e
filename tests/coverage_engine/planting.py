"""A good scenario, and ways to plant one breach in it or in its report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from scheduling.coverage.report import CaseReport, Report
from scheduling.coverage.values import Case, Need, Scenario, Tray, Unit

GOOD: dict[str, Any] = {
    "site": {
        "name": "Ottermere General Hospital",
        "now": "2026-03-02T05:00",
        "shelf_return_minutes": 180,
        "sterile_services": {day: ["06:00", "22:00"] for day in ("mon", "tue", "wed")},
    },
    "instruments": [
        {"ref": "REAM-10", "role": "reamer", "diameter": 10},
        {"ref": "REAM-11", "role": "reamer", "diameter": 11},
        {"ref": "HNDL", "role": "broach handle"},
    ],
    "implants": [
        {"ref": "STEM-10", "role": "stem", "size": 10, "lead_days": 1},
        {"ref": "STEM-11", "role": "stem", "size": 11, "lead_days": 1, "replaced_on_use": True},
        {"ref": "HEAD-32", "role": "head", "diameter": 32},
    ],
    "configurations": [
        {
            "code": "BASE",
            "kind": "base",
            "contents": {"REAM-10": 1, "HNDL": 1},
            "turnaround_minutes": 360,
            "fast_track_minutes": 120,
        },
        {
            "code": "SP-REAM-11",
            "kind": "supplementary",
            "contents": {"REAM-11": 1},
            "turnaround_minutes": 360,
        },
    ],
    "trays": [
        {"code": "BASE/1", "configuration": "BASE", "ready": "2026-03-01T12:00"},
        {"code": "SP/1", "configuration": "SP-REAM-11", "ready": "2026-03-01T12:00"},
        {"code": "SP/2", "configuration": "SP-REAM-11", "ready": "2026-03-01T12:00"},
    ],
    "techniques": [
        {
            "code": "STEM",
            "sets": [{"purpose": "femoral preparation", "options": [["BASE"]]}],
            "rules": [
                {
                    "role": "reamer",
                    "need": "planned",
                    "select": {"diameter": {"ladder": {"to": {"plan": "stem.size"}}}},
                },
                {
                    "role": "reamer",
                    "need": "contingency",
                    "select": {"diameter": {"ladder": {"at": {"plan": "stem.size"}, "above": 1}}},
                },
                {
                    "role": "stem",
                    "need": "contingency",
                    "select": {"size": {"ladder": {"at": {"plan": "stem.size"}, "above": 1}}},
                },
                {"role": "head", "need": "spare"},
            ],
            "confirmations": [{"code": "films seen"}],
        }
    ],
    "cases": [
        {
            "ref": ref,
            "technique": "STEM",
            "start": start,
            "minutes": 120,
            "components": {"stem": {"size": 10}},
            "confirmed": ["films seen"],
            **more,
        }
        for ref, start, more in (
            ("A", "2026-03-02T08:30", {"reserved_units": ["T10-2"]}),
            ("B", "2026-03-02T14:00", {"reserved_trays": ["SP/2"]}),
            ("C", "2026-03-04T08:30", {}),
        )
    ],
    "shelf": [
        {"unit": "T10-1", "implant": "STEM-10", "expiry": "2026-03-02"},
        {"unit": "T10-2", "implant": "STEM-10", "expiry": "2026-05-31"},
        {
            "unit": "T10-3",
            "implant": "STEM-10",
            "expiry": "2026-06-30",
            "arrives": "2026-03-03T12:00",
        },
        {"unit": "T11-1", "implant": "STEM-11", "expiry": "2030-12-31"},
        {"unit": "H32-1", "implant": "HEAD-32", "expiry": "2026-03-03"},
        {"unit": "H32-2", "implant": "HEAD-32", "expiry": None},
        {"unit": "H32-3", "implant": "HEAD-32", "expiry": None},
    ],
}
"""Three cases that share one tray (B by fast track), one contingency stem and two packs.

A holds T11-1, on which C leans; B has none.  C's own stem is on order.
"""


# -- planting -----------------------------------------------------------------------------------

Plant = Callable[[Scenario, Report], tuple[Scenario, Report]]


def of_case(ref: str, change: Callable[[CaseReport], CaseReport]) -> Plant:
    """Change what the report says of one case."""

    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        cases = tuple(change(told) if told.case == ref else told for told in report.cases)
        return scenario, replace(report, cases=cases)

    return plant


def said(ref: str, **changes: Any) -> Plant:
    return of_case(ref, lambda told: replace(told, **changes))


def of_line(ref: str, need: Need, item: str, **changes: Any) -> Plant:
    def change(told: CaseReport) -> CaseReport:
        assert any((line.need, line.item) == (need, item) for line in told.lines)
        return replace(
            told,
            lines=tuple(
                line._replace(**changes) if (line.need, line.item) == (need, item) else line
                for line in told.lines
            ),
        )

    return of_case(ref, change)


def of_set(ref: str, **changes: Any) -> Plant:
    return of_case(
        ref, lambda told: replace(told, sets=tuple(replace(each, **changes) for each in told.sets))
    )


def without_line(ref: str, need: Need, item: str) -> Plant:
    return of_case(
        ref,
        lambda told: replace(
            told,
            lines=tuple(line for line in told.lines if (line.need, line.item) != (need, item)),
        ),
    )


def of_unit(code: str, **changes: Any) -> Plant:
    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        unit: Unit = replace(scenario.shelf[code], **changes)
        return replace(scenario, shelf={**scenario.shelf, code: unit}), report

    return plant


def of_tray(code: str, **changes: Any) -> Plant:
    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        tray: Tray = replace(scenario.trays[code], **changes)
        return replace(scenario, trays={**scenario.trays, code: tray}), report

    return plant


def of_booking(ref: str, **changes: Any) -> Plant:
    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        case: Case = replace(scenario.cases[ref], **changes)
        return replace(scenario, cases={**scenario.cases, ref: case}), report

    return plant


def of_report(change: Callable[[Report], Report]) -> Plant:
    return lambda scenario, report: (scenario, change(report))


def more_stock(code: str, implant: str, expiry: date | None) -> Plant:
    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        unit = Unit(code=code, implant=implant, expiry=expiry)
        return replace(scenario, shelf={**scenario.shelf, code: unit}), report

    return plant


def another_tray(code: str, configuration: str) -> Plant:
    def plant(scenario: Scenario, report: Report) -> tuple[Scenario, Report]:
        tray = Tray(code, configuration, ready=scenario.site.now)
        return replace(scenario, trays={**scenario.trays, code: tray}), report

    return plant


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)
