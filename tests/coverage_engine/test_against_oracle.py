"""The engine says what an exhaustive search says, claim by claim, on small random scenarios."""

from __future__ import annotations

import json
import os

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario
from tests.coverage_engine.oracle import expect
from tests.coverage_engine.oracle.compare import difference, told, without_unheeded
from tests.coverage_engine.oracle.shrink import smallest
from tests.coverage_engine.random_scenarios import Entry, scenario

LONGER_RUN = "MUSTER_ORACLE_SEEDS"
"""Environment variable: how many seeds to try, for a longer run than the usual one."""

SEEDS = int(os.environ.get(LONGER_RUN, "3000"))
BLOCKS = 8


def disagreement(entry: Entry) -> str:
    """Where the engine and the oracle differ on a scenario; empty where they agree."""
    got = told(decide(read_scenario(json.dumps(entry))))
    return difference(without_unheeded(expect(entry)), got)


def shows_it(entry: Entry) -> bool:
    try:
        return bool(disagreement(entry))
    except (ScenarioFaults, KeyError, StopIteration):
        return False  # no longer a scenario


@pytest.mark.parametrize("block", range(BLOCKS))
def test_engine_and_oracle_agree(block: int) -> None:
    for seed in range(block, SEEDS, BLOCKS):
        entry = scenario(seed)
        if disagreement(entry):
            small = smallest(entry, shows_it)
            pytest.fail(
                f"seed {seed}\n\n{json.dumps(small, indent=1)}\n\n{disagreement(small)}",
                pytrace=False,
            )


def test_a_seed_always_gives_the_same_scenario() -> None:
    assert [scenario(seed) for seed in range(20)] == [scenario(seed) for seed in range(20)]
