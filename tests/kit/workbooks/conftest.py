from __future__ import annotations

import pytest

from tests.proof.figures import Figures


@pytest.fixture(autouse=True)
def hostile_ones_are_counted(request: pytest.FixtureRequest, figures: Figures) -> None:
    if request.path.name.startswith("test_hostile_"):
        figures("Hostile workbooks", cases_with_exact_messages=1)
