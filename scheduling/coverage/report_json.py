"""The engine's report as JSON values, and its projection that expected files keep.

Times are local to the site.  Reasons are data first (`code` and its values), a sentence second
(`say`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import CaseReport, Line, Reason, ReasonValue, Report, SetLine
from scheduling.coverage.scenario_write import Json, number_json, time_json
from scheduling.coverage.values import Scenario
from scheduling.coverage.ways_out import WaysOut
from scheduling.coverage.ways_out_json import way_json


def report_to_json(
    report: Report, scenario: Scenario, ways_out: Mapping[str, WaysOut] | None = None
) -> Json:
    """The whole report; the same report gives the same bytes when dumped.

    Lines stand by need, then item.  `ways_out`: those searched for, by case; none is listed for
    the others.
    """
    zone = ZoneInfo(scenario.site.timezone)
    found = ways_out or {}
    return {
        "now": time_json(report.now, zone),
        "cases": [case_report_json(case, zone, found.get(case.case)) for case in report.cases],
    }


def case_report_json(case: CaseReport, zone: ZoneInfo, found: WaysOut | None = None) -> Json:
    """`ways_out_complete` only where ways out were searched for: false, if the search stopped at
    its bound."""
    complete = {} if found is None else {"ways_out_complete": found.complete}
    return {
        "case": case.case,
        "verdict": case.verdict.value,
        "needed_by": time_json(case.needed_by, zone),
        "out": time_json(case.out, zone),
        "faults": list(case.faults),
        "questions": list(case.questions),
        "sets": [_set(one, zone) for one in case.sets],
        "packs": list(case.packs),
        "lines": [
            _line(one, zone) for one in sorted(case.lines, key=lambda one: (one.need, one.item))
        ],
        "notes": _reasons(case.notes, zone),
        "gave_up": case.gave_up,
        "ways_out": [way_json(way, zone) for way in found.ways] if found else [],
        **complete,
    }


def expected_of(report: Json) -> Json:
    """What an expected file keeps of a report: `report` as `report_to_json` gives it."""
    return {
        case["case"]: {
            "verdict": case["verdict"],
            "faults": case["faults"],
            "questions": case["questions"],
            "sets": {one["purpose"]: one["status"] for one in case["sets"]},
            "not_held": [
                {key: line[key] for key in _KEPT}
                for line in case["lines"]
                if line["held"] < line["quantity"]
            ],
        }
        for case in report["cases"]
    }


_KEPT = ("need", "item", "quantity", "held", "conditional", "shared", "short")


def reason_json(reason: Reason, zone: ZoneInfo) -> Json:
    values = {key: _value(value, zone) for key, value in reason.values.items()}
    return {"code": reason.code, **values, "say": sentence(reason)}


def _set(one: SetLine, zone: ZoneInfo) -> Json:
    return {
        "purpose": one.purpose,
        "status": one.status.value,
        "option": list(one.option),
        "trays": list(one.trays),
        "because": _reasons(one.because, zone),
    }


def _line(one: Line, zone: ZoneInfo) -> Json:
    return {
        "need": one.need.value,
        "item": one.item,
        "quantity": one.quantity,
        "held": one.held,
        "conditional": one.conditional,
        "shared": one.shared,
        "short": one.short,
        "units": list(one.units),
        "leans_on": [{"unit": lean.unit, "case": lean.case} for lean in one.leans_on],
        "because": _reasons(one.because, zone),
    }


def _reasons(reasons: Iterable[Reason], zone: ZoneInfo) -> list[Json]:
    return [reason_json(reason, zone) for reason in reasons]


def _value(value: ReasonValue, zone: ZoneInfo) -> Any:
    match value:
        case None:
            return None
        case datetime():
            return time_json(value, zone)
        case date():
            return value.isoformat()
        case tuple():
            return list(value)
        case _:
            return number_json(value)
