"""Reservations that cannot stand beside each other: what is kept, what is left out and said."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction

from deploy.kit.models import Site
from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import expected_of, report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario
from scheduling.facts import scenario_now
from scheduling.scenario_files import load
from tests.coverage_engine.random_scenarios import scenario as random_scenario
from tests.coverage_engine.small_scenario import small

pytestmark = pytest.mark.django_db


def told(scenario: Scenario) -> object:
    return expected_of(report_to_json(decide(scenario), scenario))


def two_cases_that_reserve_the_same() -> str:
    data = small()
    data["cases"].append({**data["cases"][0], "ref": "C2"})
    return json.dumps(data)


def test_the_case_that_gets_it_keeps_it_and_the_other_is_named() -> None:
    scenario = read_scenario(two_cases_that_reserve_the_same())
    loaded = load(scenario)
    assert loaded.left_out == [
        'cases[1].reserved_units[0]: "U1" is reserved for case "C1"',
        'cases[1].reserved_trays[0]: "BASE/1" is reserved for case "C1", too near in time',
    ]
    kept = scenario_now(loaded.site).cases
    assert (kept["C1"].reserved_units, kept["C1"].reserved_trays) == (("U1",), ("BASE/1",))
    assert (kept["C2"].reserved_units, kept["C2"].reserved_trays) == ((), ())


def test_an_urgent_case_keeps_it_wherever_it_stands_in_the_file() -> None:
    data = json.loads(two_cases_that_reserve_the_same())
    data["cases"][0]["priority"], data["cases"][1]["priority"] = "elective", "urgent"
    loaded = load(read_scenario(json.dumps(data)))
    assert [line.split(":")[0] for line in loaded.left_out] == [
        "cases[0].reserved_units[0]",
        "cases[0].reserved_trays[0]",
    ]


def test_the_command_says_what_was_left_out(tmp_path: Path) -> None:
    file = tmp_path / "scenario.json"
    file.write_text(two_cases_that_reserve_the_same())
    said = StringIO()
    call_command("load_scenario", str(file), stdout=StringIO(), stderr=said)
    assert said.getvalue().splitlines()[0] == (
        'Reservation left out, it binds nobody: cases[1].reserved_units[0]: "U1" is reserved '
        'for case "C1"'
    )


@pytest.mark.parametrize("block", range(4))
def test_a_loaded_scenario_has_the_verdicts_of_its_file(block: int) -> None:
    for seed in range(block, 120, 4):
        scenario = read_scenario(json.dumps(random_scenario(seed)))
        with transaction.atomic():
            site = load(scenario).site
            assert told(scenario_now(site)) == told(scenario), seed
            transaction.set_rollback(True)
        assert not Site.objects.exists()
