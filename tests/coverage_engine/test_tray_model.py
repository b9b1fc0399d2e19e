"""The solver alone decides what all the quicker ways decide together."""

from __future__ import annotations

import pytest

from scheduling.coverage import tray_search
from scheduling.coverage.tray_arrangement import Arrangement
from scheduling.coverage.tray_bounds import Bounds
from tests.coverage_engine.random_scenarios import scenario
from tests.coverage_engine.test_against_oracle import disagreement

SEEDS = range(50_000, 50_100)


@pytest.fixture
def the_solver_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing fits as things stand, no case is moved, nothing is refused by counting."""
    monkeypatch.setattr(tray_search, "MOST_MOVES", 0)
    monkeypatch.setattr(Bounds, "conflict", lambda *_: None)
    monkeypatch.setattr(Arrangement, "_fits", lambda *_: False)


@pytest.mark.usefixtures("the_solver_alone")
def test_the_solver_and_the_oracle_agree() -> None:
    for seed in SEEDS:
        entry = scenario(seed)
        assert not disagreement(entry), seed
