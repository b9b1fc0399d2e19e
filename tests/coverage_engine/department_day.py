"""A day on which two trays of a kind come back at the same time and are both needed again."""

from __future__ import annotations

import json

from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario


def two_trays_back_at_once() -> Scenario:
    """A1 and A2 end at 10:00; B1 and B2 need a set by 15:30; a turnaround takes five hours."""
    every_day = {day: ["06:00", "22:00"] for day in ("mon", "tue", "wed", "thu", "fri")}
    starts = {"A1": "09:00", "A2": "09:00", "B1": "16:30", "B2": "16:30"}
    return read_scenario(
        json.dumps(
            {
                "site": {
                    "name": "Ottermere General",
                    "timezone": "Europe/London",
                    "now": "2027-03-02T07:00",
                    "sterile_services": every_day,
                },
                "instruments": [{"ref": "REAM-9", "role": "reamer", "diameter": 9}],
                "configurations": [
                    {
                        "code": "SET",
                        "kind": "stand-alone",
                        "contents": {"REAM-9": 1},
                        "turnaround_minutes": 300,
                    }
                ],
                "trays": [
                    {"code": f"SET/{n}", "configuration": "SET", "ready": "2027-03-01T12:00"}
                    for n in (1, 2)
                ],
                "techniques": [
                    {"code": "T", "sets": [{"purpose": "preparation", "options": [["SET"]]}]}
                ],
                "cases": [
                    {
                        "ref": ref,
                        "technique": "T",
                        "start": f"2027-03-02T{start}",
                        "minutes": 60,
                    }
                    for ref, start in starts.items()
                ],
            }
        )
    )
