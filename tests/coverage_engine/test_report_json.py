"""The report as JSON: local times, exact numbers, lines in order; and what expected files keep."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from scheduling.coverage.report import (
    CaseReport,
    Lean,
    Line,
    Reason,
    Report,
    SetLine,
    Status,
    Verdict,
)
from scheduling.coverage.report_json import expected_of, report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Need

LONDON = ZoneInfo("Europe/London")
SITE = read_scenario('{"site": {"timezone": "Europe/London", "now": "2027-04-01T07:00"}}')
ON_ORDER = Reason(
    "on order",
    {"unit": "U3", "arrives": datetime(2027, 4, 1, 12, tzinfo=LONDON), "size": Decimal(12)},
)
OUT_OF_DATE = Reason(
    "out of date", {"unit": "U4", "expiry": date(2027, 4, 1), "case_ends": date(2027, 4, 2)}
)
REPORT = Report(
    now=SITE.site.now,
    cases=(
        CaseReport(
            case="C1",
            verdict=Verdict.AT_RISK,
            needed_by=datetime(2027, 4, 2, 6, 30, tzinfo=UTC),
            out=datetime(2027, 4, 2, 10, 45, tzinfo=UTC),
            sets=(SetLine("femoral", Status.HELD, ("BASE",), ("BASE/1",)),),
            packs=("SP/1",),
            lines=(
                Line(Need.PLANNED, "STEM-12", 1, 0, 1, 0, 0, ("U3",), (), (ON_ORDER, OUT_OF_DATE)),
                Line(Need.CONTINGENCY, "STEM-13", 1, 0, 0, 1, 0, ("U5",), (Lean("U5", "C0"),)),
                Line(Need.CONTINGENCY, "HEAD-36", 2, 2, 0, 0, 0, ("U1", "U2")),
            ),
        ),
    ),
)


def test_the_whole_report() -> None:
    assert report_to_json(REPORT, SITE) == {
        "now": "2027-04-01T07:00",
        "cases": [
            {
                "case": "C1",
                "verdict": "at risk",
                "needed_by": "2027-04-02T07:30",
                "out": "2027-04-02T11:45",
                "faults": [],
                "questions": [],
                "sets": [
                    {
                        "purpose": "femoral",
                        "status": "held",
                        "option": ["BASE"],
                        "trays": ["BASE/1"],
                        "because": [],
                    }
                ],
                "packs": ["SP/1"],
                "lines": [
                    {
                        "need": "contingency",
                        "item": "HEAD-36",
                        "quantity": 2,
                        "held": 2,
                        "conditional": 0,
                        "shared": 0,
                        "short": 0,
                        "units": ["U1", "U2"],
                        "leans_on": [],
                        "because": [],
                    },
                    {
                        "need": "contingency",
                        "item": "STEM-13",
                        "quantity": 1,
                        "held": 0,
                        "conditional": 0,
                        "shared": 1,
                        "short": 0,
                        "units": ["U5"],
                        "leans_on": [{"unit": "U5", "case": "C0"}],
                        "because": [],
                    },
                    {
                        "need": "planned",
                        "item": "STEM-12",
                        "quantity": 1,
                        "held": 0,
                        "conditional": 1,
                        "shared": 0,
                        "short": 0,
                        "units": ["U3"],
                        "leans_on": [],
                        "because": [
                            {
                                "code": "on order",
                                "unit": "U3",
                                "arrives": "2027-04-01T12:00",
                                "size": 12,
                                "say": "depends on box U3, due Thu 1 Apr 12:00",
                            },
                            {
                                "code": "out of date",
                                "unit": "U4",
                                "expiry": "2027-04-01",
                                "case_ends": "2027-04-02",
                                "say": "box U4 has use by 1 Apr 2027, the case ends on 2 Apr 2027",
                            },
                        ],
                    },
                ],
                "notes": [],
                "gave_up": False,
                "ways_out": [],
            }
        ],
    }


def test_the_same_report_gives_the_same_bytes() -> None:
    assert json.dumps(report_to_json(REPORT, SITE)) == json.dumps(report_to_json(REPORT, SITE))


def test_expected_files_keep_what_is_not_held() -> None:
    assert expected_of(report_to_json(REPORT, SITE)) == {
        "C1": {
            "verdict": "at risk",
            "faults": [],
            "questions": [],
            "sets": {"femoral": "held"},
            "not_held": [
                {
                    "need": "contingency",
                    "item": "STEM-13",
                    "quantity": 1,
                    "held": 0,
                    "conditional": 0,
                    "shared": 1,
                    "short": 0,
                },
                {
                    "need": "planned",
                    "item": "STEM-12",
                    "quantity": 1,
                    "held": 0,
                    "conditional": 1,
                    "shared": 0,
                    "short": 0,
                },
            ],
        }
    }
