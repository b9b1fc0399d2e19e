"""The figures of the test programme: counted by tests, printed by the suite at its end.

    def test_hammer(figures): figures("PostgreSQL hammer", tried=200, ok=200, doubles=0)

Figures of one row that several tests count (one a planted bug, one a role) are added up.  What is
printed was counted while the test ran, a failed one's too.  With LONGER=1 in the environment a
test takes its row's longer figure.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import Any

import pytest

PROPERTY = "figures"

Figures = Callable[..., None]


def size(in_ci: int, longer: int) -> int:
    """How much of it: what the suite does, or with LONGER=1 what a night has time for."""
    return longer if os.environ.get("LONGER") == "1" else in_ci


@pytest.fixture
def figures(record_property: Callable[[str, object], None]) -> Figures:
    def count(row: str, **counted: int) -> None:
        record_property(PROPERTY, [row, counted])

    return count


def added_up(reports: Iterable[Any]) -> dict[str, dict[str, int]]:
    rows: dict[str, dict[str, int]] = {}
    for report in reports:
        if getattr(report, "when", "") != "call":
            continue
        for name, value in report.user_properties:
            if name == PROPERTY:
                row, counted = value
                sums = rows.setdefault(row, {})
                for what, number in counted.items():
                    sums[what] = sums.get(what, 0) + number
    return rows


def table(rows: dict[str, dict[str, int]]) -> list[str]:
    widest = max(map(len, rows), default=0)
    return [
        f"{row:<{widest}}  "
        + ", ".join(f"{what.replace('_', ' ')} {number:,}" for what, number in counted.items())
        for row, counted in sorted(rows.items(), key=lambda each: each[0].lower())
    ]


def pytest_terminal_summary(terminalreporter: Any) -> None:
    reports = [one for kind in ("passed", "failed") for one in terminalreporter.stats.get(kind, [])]
    rows = added_up(reports)
    if rows:
        terminalreporter.section("figures of the test programme")
        for line in table(rows):
            terminalreporter.write_line(line)
