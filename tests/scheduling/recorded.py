"""The recorded scenarios, by name."""

from __future__ import annotations

from pathlib import Path

from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario

SCENARIOS = Path(__file__).parents[2] / "fixtures" / "scenarios"


def recorded(name: str) -> Scenario:
    return read_scenario((SCENARIOS / f"{name}.json").read_text())
