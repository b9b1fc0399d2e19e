"""The recorded scenarios give exactly their recorded results."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import expected_of, report_to_json
from scheduling.coverage.scenario_json import read_scenario
from tests.coverage_engine.small_scenario import RECORDED


def test_every_recorded_scenario_has_its_expected_results() -> None:
    assert RECORDED
    assert all(path.with_suffix(".expected.json").exists() for path in RECORDED)


@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_recorded_scenario(path: Path) -> None:
    scenario = read_scenario(path.read_text("utf-8"))
    expected = json.loads(path.with_suffix(".expected.json").read_text("utf-8"))
    assert expected_of(report_to_json(decide(scenario), scenario)) == expected


@pytest.mark.parametrize("path", RECORDED[:2], ids=lambda path: path.stem)
def test_the_order_of_the_lists_changes_no_byte_of_the_report(path: Path) -> None:
    data = json.loads(path.read_text("utf-8"))
    scenario = read_scenario(json.dumps(data))
    for key in ("instruments", "implants", "configurations", "trays", "shelf", "cases"):
        data[key].reverse()
    turned = read_scenario(json.dumps(data))
    assert json.dumps(report_to_json(decide(turned), turned)) == json.dumps(
        report_to_json(decide(scenario), scenario)
    )
