"""The engine's report in the oracle's form, and differences that a person can read."""

from __future__ import annotations

import json
from difflib import unified_diff
from typing import Any

from scheduling.coverage.report import CaseReport, Line, Report, SetLine


def told(report: Report) -> dict[str, dict[str, Any]]:
    """What a report says of every case, in the form of `expect` (without `unheeded`)."""
    return {case.case: _case(case) for case in report.cases}


def _case(case: CaseReport) -> dict[str, Any]:
    return {
        "verdict": case.verdict.value,
        "faults": list(case.faults),
        "questions": list(case.questions),
        "sets": [_set(each) for each in case.sets],
        "packs": sorted(case.packs),
        "lines": sorted(
            (_line(line) for line in case.lines), key=lambda line: (line["need"], line["item"])
        ),
    }


def _set(each: SetLine) -> dict[str, Any]:
    return {
        "purpose": each.purpose,
        "status": each.status.value,
        "option": list(each.option),
        "trays": list(each.trays),
    }


def _line(line: Line) -> dict[str, Any]:
    return {
        "need": line.need.value,
        "item": line.item,
        "quantity": line.quantity,
        "held": line.held,
        "conditional": line.conditional,
        "shared": line.shared,
        "short": line.short,
        "units": sorted(line.units),
        "leans_on": sorted((lean.unit, lean.case) for lean in line.leans_on),
    }


def without_unheeded(answer: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {
        ref: {key: value for key, value in case.items() if key != "unheeded"}
        for ref, case in answer.items()
    }


def difference(expected: dict[str, Any], got: dict[str, Any]) -> str:
    """A diff by line of what was expected and what was got; empty when they are the same."""
    sides = [_written(expected), _written(got)]
    return "\n".join(unified_diff(*sides, "the oracle", "the engine", lineterm="", n=2))


def _written(answer: dict[str, Any]) -> list[str]:
    written: list[str] = []
    for ref, case in answer.items():
        for key, value in case.items():
            if key in ("sets", "lines"):
                written += [f"{ref} {key[:-1]} {json.dumps(each)}" for each in value]
            else:
                written.append(f"{ref} {key} {json.dumps(value)}")
    return written
