"""The verdict: one word for a case, from its faults, questions, sets and lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from scheduling.coverage.report import Line, SetLine, Status, Verdict
from scheduling.coverage.values import Need


def verdict_of(
    faults: Sequence[str],
    questions: Sequence[str],
    sets: Iterable[SetLine],
    lines: Iterable[Line],
    *,
    undecided_sets: frozenset[str] = frozenset(),
    undecided_lines: frozenset[tuple[Need, str]] = frozenset(),
    gave_up: bool = False,
) -> Verdict:
    """The first verdict that applies, worst first; covered only when everything is held.

    What a bounded search left undecided (`undecided_…`, by purpose and by need and item) is not
    proved short, so it makes the case not known, not not covered.
    """
    sets = [s for s in sets if s.status is not Status.HELD]
    lines = [line for line in lines if line.held < line.quantity]
    if faults:
        return Verdict.NOT_COVERED
    if any(s.status is Status.SHORT and s.purpose not in undecided_sets for s in sets):
        return Verdict.NOT_COVERED
    if any(
        line.short and line.need is Need.PLANNED and (line.need, line.item) not in undecided_lines
        for line in lines
    ):
        return Verdict.NOT_COVERED
    if questions or gave_up:
        return Verdict.NOT_KNOWN
    if sets or any(line.need is not Need.SPARE for line in lines):
        return Verdict.AT_RISK
    if lines:
        return Verdict.NO_SPARE
    return Verdict.COVERED
