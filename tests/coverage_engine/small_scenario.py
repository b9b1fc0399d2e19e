"""A scenario file with one of everything, and ways to break it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario
from scheduling.coverage.values import Scenario

RECORDED = sorted(
    path
    for path in (Path(__file__).parents[2] / "fixtures" / "scenarios").glob("*.json")
    if not path.name.endswith(".expected.json")
)


def small() -> Any:
    """One of everything, with nothing wrong."""
    return {
        "site": {
            "name": "Ottermere General",
            "timezone": "Europe/London",
            "now": "2027-03-01T07:00",
            "order_cut_off": "15:30",
            "closed_dates": ["2027-03-26"],
            "sterile_services": {"mon": ["06:00", "24:00"]},
        },
        "instruments": [
            {"ref": "REAM-12", "role": "reamer", "diameter": 12},
            {"ref": "HNDL", "role": "broach handle"},
        ],
        "suppliers": [
            {"code": "NORTH", "order_cut_off": "11:00", "closed_dates": ["2027-03-02"]},
            {"code": "SOUTH"},
        ],
        "implants": [
            {
                "ref": "STEM-12",
                "role": "stem",
                "size": 12,
                "length": 225.5,
                "gtin": "02345673",
                "lead_days": 2,
                "replaced_on_use": True,
                "supplier": "NORTH",
            }
        ],
        "configurations": [
            {
                "code": "BASE",
                "kind": "base",
                "contents": {"REAM-12": 2, "HNDL": 1},
                "turnaround_minutes": 360,
                "fast_track_minutes": 240,
            },
            {
                "code": "PACK",
                "kind": "supplementary",
                "contents": {"REAM-12": 1},
                "turnaround_minutes": 300,
            },
        ],
        "trays": [
            {"code": "BASE/1", "configuration": "BASE", "ready": "2027-02-27T12:00"},
            {"code": "BASE/2", "configuration": "BASE", "arrives": "2027-03-02T09:00"},
            {
                "code": "BASE/3",
                "configuration": "BASE",
                "withdrawn": True,
                "missing": {"REAM-12": 2},
                "note": "bent\nhandle",
            },
        ],
        "shelf": [
            {"unit": "U1", "implant": "STEM-12", "lot": "L1", "expiry": "2028-02"},
            {"unit": "U2", "implant": "STEM-12", "expiry": None, "hold": "recalled"},
        ],
        "techniques": [
            {
                "code": "REV",
                "sets": [{"purpose": "femoral", "options": [["BASE"]], "when": {"a": ["x", True]}}],
                "rules": [
                    {
                        "role": "reamer",
                        "need": "planned",
                        "select": {
                            "diameter": {"ladder": {"from": 9, "to": {"plan": "stem.size"}}},
                            "ref": ["REAM-12"],
                        },
                    },
                    {"role": "stem", "need": "spare", "quantity": 2, "when": {"a": "x"}},
                ],
                "checks": [
                    {"code": "same", "kind": "equal", "left": "stem.size", "right": "b"},
                    {
                        "code": "long enough",
                        "kind": "at least",
                        "left": ["stem.length", 3],
                        "right": [{"times": 2.5, "of": "bone_mm"}],
                    },
                ],
                "confirmations": [{"code": "seen on film"}],
            }
        ],
        "cases": [
            {
                "ref": "C1",
                "technique": "REV",
                "start": "2027-03-02T08:30",
                "minutes": 180,
                "priority": "urgent",
                "side": "left",
                "components": {"stem": {"size": 12, "quantity": 2}},
                "facts": {"a": "x", "b": 12, "seen": True},
                "confirmed": ["seen on film"],
                "reserved_trays": ["BASE/1"],
                "reserved_units": ["U1"],
            }
        ],
    }


def read(data: Any) -> Scenario:
    return read_scenario(json.dumps(data))


def faults_of(data: Any) -> list[str]:
    with pytest.raises(ScenarioFaults) as refused:
        read_scenario(data if isinstance(data, str) else json.dumps(data))
    return refused.value.faults


def broken(place: str, value: Any) -> Any:
    """The small scenario with one value put at a place, `cases|0|start`; `...` takes it away."""
    data = small()
    *way, last = [int(step) if step.isdigit() else step for step in place.split("|")]
    holder = data
    for step in way:
        holder = holder[step]
    if value is ...:
        del holder[last]
    elif isinstance(holder, list) and last == len(holder):
        holder.append(value)
    else:
        holder[last] = value
    return data
