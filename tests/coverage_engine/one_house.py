"""A small house for hand-made scenarios: one stem, one head, two ways to be equipped.

Mon 1 Mar 2027 07:00 in London; sterile services work from 06:00 to 22:00, Monday to Friday.
A case needs everything an hour before it starts, and is out 15 minutes after it ends.
"""

from __future__ import annotations

import json
from typing import Any

from scheduling.coverage.engine import Decision
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario

Entry = dict[str, Any]

SITE: Entry = {
    "name": "Ottermere General",
    "timezone": "Europe/London",
    "now": "2027-03-01T07:00",
    "sterile_services": {day: ["06:00", "22:00"] for day in ("mon", "tue", "wed", "thu", "fri")},
}
INSTRUMENTS: list[Entry] = [
    {"ref": "REAM-14", "role": "reamer", "diameter": 14},
    {"ref": "HNDL", "role": "broach handle"},
]
IMPLANTS: list[Entry] = [
    {"ref": "STEM-12", "role": "stem", "size": 12, "lead_days": 2},
    {"ref": "HEAD-36", "role": "head", "diameter": 36, "lead_days": 1},
]
CONFIGURATIONS: list[Entry] = [
    {
        "code": "STAND",
        "kind": "stand-alone",
        "contents": {"REAM-14": 1, "HNDL": 1},
        "turnaround_minutes": 360,
        "fast_track_minutes": 240,
    },
    {
        "code": "BASE",
        "kind": "base",
        "contents": {"HNDL": 1},
        "turnaround_minutes": 360,
        "fast_track_minutes": 240,
    },
    {"code": "ADD", "kind": "add-on", "contents": {"REAM-14": 1}, "turnaround_minutes": 360},
]
STEM = {"stem": {"size": 12}}
HEAD = {"head": {"diameter": 36}}


def technique(code: str, *rules: Entry, options: list[list[str]] | None = None) -> Entry:
    sets = [{"purpose": "femoral", "options": options}] if options else []
    return {"code": code, "sets": sets, "rules": list(rules)}


def rule(role: str, need: str = "planned") -> Entry:
    return {"role": role, "need": need}


def case(ref: str, start: str, **more: Any) -> Entry:
    """Two hours, by technique T."""
    return {"ref": ref, "technique": "T", "start": f"2027-03-{start}", "minutes": 120, **more}


def tray(code: str, **more: Any) -> Entry:
    """`KIND/number`; ready at now where nothing else is said."""
    state = {} if {"ready", "arrives", "withdrawn"} & set(more) else {"ready": SITE["now"]}
    return {"code": code, "configuration": code.split("/")[0], **state, **more}


def box(unit: str, **more: Any) -> Entry:
    """`ITEM/number`; in date."""
    return {"unit": unit, "implant": unit.split("/")[0], "expiry": "2030-12-31", **more}


def house(
    *cases: Entry,
    techniques: list[Entry],
    trays: list[Entry] | None = None,
    shelf: list[Entry] | None = None,
    **more: Any,
) -> Scenario:
    entry = {
        "site": SITE | more.pop("site", {}),
        "instruments": INSTRUMENTS,
        "implants": IMPLANTS,
        "configurations": CONFIGURATIONS,
        "trays": trays or [],
        "shelf": shelf or [],
        "techniques": techniques,
        "cases": list(cases),
    }
    return read_scenario(json.dumps(entry | more))


def decided(*cases: Entry, **more: Any) -> Decision:
    return Decision(house(*cases, **more))
