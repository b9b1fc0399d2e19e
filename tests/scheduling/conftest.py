from __future__ import annotations

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from tests.scheduling.recorded import recorded


@pytest.fixture
def two_cases() -> tuple[Scenario, Report]:
    """One add-on set between two cases, and the report: A is covered, B is not.  No database."""
    scenario = recorded("one-add-on-set-1630")
    return scenario, decide(scenario)
