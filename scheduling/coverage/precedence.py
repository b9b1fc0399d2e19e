"""The two orders in which cases are taken: by right (precedence) and by time."""

from __future__ import annotations

from datetime import datetime

from scheduling.coverage.values import Case, Priority

_RANK = {priority: rank for rank, priority in enumerate(Priority)}


def by_precedence(case: Case) -> tuple[int, datetime, str]:
    """Who claims first: priority, then start, then reference."""
    return _RANK[case.priority], case.start, case.ref


def by_time(case: Case) -> tuple[datetime, str]:
    """Who operates first: start, then reference."""
    return case.start, case.ref
