"""The state machine's own test: every planted bug is found, none by accident.

A machine that finds nothing proves nothing.  Without a bug the same machine finds none, see
`test_state_machine.py`.
"""

from __future__ import annotations

from collections import Counter

import hypothesis
import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.proof.acts import House
from tests.proof.bugs import BUGS
from tests.proof.machine import Machine, furnish

MOST_RUNS = 200


@pytest.mark.parametrize("bug", BUGS, ids=lambda bug: bug.__name__)
def test_the_machine_finds_it(bug, site, coordinator, manager, monkeypatch, figures):
    furnish(site)
    bug(monkeypatch)
    counted: Counter[str] = Counter()
    machine = hypothesis.seed(3)(
        type("Planted", (Machine,), {"house": House(coordinator, manager), "counted": counted})
    )
    found = 0
    try:
        run_state_machine_as_test(
            machine,
            settings=settings(
                max_examples=MOST_RUNS,
                stateful_step_count=50,
                database=None,
                phases=[Phase.generate],
                report_multiple_bugs=False,
                suppress_health_check=list(HealthCheck),
            ),
        )
    except AssertionError:
        found = 1
    figures("Planted bugs", planted=1, found=found, steps=counted["steps"])
    assert found, f"not found in {counted['steps']} steps"
