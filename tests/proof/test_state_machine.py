"""The operations in any order: what they say is so, and every invariant holds after each step.

The longer run: LONGER=1 deploy/test tests/proof/test_state_machine.py
"""

from __future__ import annotations

from collections import Counter

import hypothesis
import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.proof.acts import House
from tests.proof.figures import size
from tests.proof.machine import Machine, furnish

PARTS = 4
RUNS, STEPS = size(200, 5_000), size(50, 100)


@pytest.mark.parametrize("part", range(PARTS))
def test_every_invariant_holds_after_every_step(part, site, coordinator, manager, figures):
    furnish(site)
    counted: Counter[str] = Counter()
    machine = hypothesis.seed(part)(
        type("Part", (Machine,), {"house": House(coordinator, manager), "counted": counted})
    )
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=RUNS // PARTS + 1,  # some runs end early
            stateful_step_count=STEPS,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    names = ("runs", "steps", "done", "refused")
    figures("State machine", **{name: counted[name] for name in names}, violations=0)
    assert counted["steps"] >= RUNS * STEPS // PARTS
    assert counted["done"] > counted["refused"] > 0
