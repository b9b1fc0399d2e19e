"""What would change: two decisions compared, case by case.  Nothing is saved.

`what_if` takes over from the decision at hand all that the change does not touch, so that a page
may ask before it saves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scheduling.coverage.engine import Decision
from scheduling.coverage.report import CaseReport, Report, Status, Verdict
from scheduling.coverage.values import Need, Scenario

Gap = tuple[Need | None, str]
"""What is not held: a need for an item; without a need, a set by its purpose."""

Badness = tuple[int, int, int]
"""How many are short, shared, conditional.  A set counts as one."""

HELD: Badness = (0, 0, 0)

_BEST_FIRST = tuple(reversed(Verdict))


def rank(verdict: Verdict) -> int:
    """0 for the best verdict; greater is worse."""
    return _BEST_FIRST.index(verdict)


def gaps(report: CaseReport) -> dict[Gap, Badness]:
    """All that a case does not hold, and how far from it."""
    open_sets: dict[Gap, Badness] = {
        (None, line.purpose): (line.status is Status.SHORT, 0, line.status is Status.CONDITIONAL)
        for line in report.sets
        if line.status is not Status.HELD
    }
    open_lines: dict[Gap, Badness] = {
        (line.need, line.item): (line.short, line.shared, line.conditional)
        for line in report.lines
        if not line.is_held
    }
    return open_sets | open_lines


@dataclass(frozen=True, slots=True)
class CaseDifference:
    """One case before and after; None where it is not booked in one of them.

    `better` and `worse`: the sets and lines that come nearer to being held, or go from it.
    """

    case: str
    before: CaseReport | None
    after: CaseReport | None

    @property
    def verdicts(self) -> tuple[Verdict | None, Verdict | None]:
        return (
            self.before.verdict if self.before else None,
            self.after.verdict if self.after else None,
        )

    @property
    def verdict_changes(self) -> bool:
        before, after = self.verdicts
        return before is not after

    @property
    def better(self) -> tuple[Gap, ...]:
        return self._nearer(self.before, self.after)

    @property
    def worse(self) -> tuple[Gap, ...]:
        return self._nearer(self.after, self.before)

    @property
    def worsens(self) -> bool:
        """The verdict is worse, or something is held less than before."""
        before, after = self.verdicts
        if before is None or after is None:
            return False
        return rank(after) > rank(before) or bool(self.worse)

    @staticmethod
    def _nearer(one: CaseReport | None, other: CaseReport | None) -> tuple[Gap, ...]:
        """The gaps of `one` that are smaller in `other`.  None where either is not booked."""
        if one is None or other is None:
            return ()
        left, asked = gaps(other), _asked(other)
        return tuple(
            gap
            for gap, badness in gaps(one).items()
            if gap in asked and left.get(gap, HELD) < badness
        )


def _asked(report: CaseReport) -> set[Gap]:
    """All sets and lines of a case, held or not."""
    return {(None, line.purpose) for line in report.sets} | {
        (line.need, line.item) for line in report.lines
    }


def case_difference(
    ref: str, before: CaseReport | None, after: CaseReport | None
) -> CaseDifference | None:
    """None where neither the verdict nor what is held changes; which box or tray serves, and why
    not, may differ all the same."""
    if before is after:
        return None
    difference = CaseDifference(ref, before, after)
    if before is None or after is None:
        return difference
    same = (
        before.verdict is after.verdict
        and before.faults == after.faults
        and before.questions == after.questions
        and gaps(before) == gaps(after)
        and _asked(before) == _asked(after)
    )
    return None if same else difference


@dataclass(frozen=True, slots=True)
class Difference:
    """`cases`: those that change, in the time order of `after`, cancelled ones last."""

    before: Report
    after: Decision
    cases: tuple[CaseDifference, ...]

    @property
    def verdicts(self) -> Mapping[str, tuple[Verdict | None, Verdict | None]]:
        """Before and after, of the cases whose verdict changes."""
        return {case.case: case.verdicts for case in self.cases if case.verdict_changes}

    @property
    def worsened(self) -> tuple[str, ...]:
        """The cases that come off worse: by their verdict, or by what they hold."""
        return tuple(case.case for case in self.cases if case.worsens)

    def case(self, ref: str) -> CaseDifference | None:
        """One case's difference; None where it has none."""
        return next((case for case in self.cases if case.case == ref), None)


def what_if(before: Decision, after: Scenario) -> Difference:
    """Decide the changed scenario, and say for which cases that makes a difference.

    `after` may differ in anything: plan, time, order of the list, stock, trays, the moment itself.
    Only what the change touches is decided again; the result is that of a full run.
    """
    decision = Decision(after, before)
    old = {report.case: report for report in before.report.cases}
    new = {report.case: report for report in decision.report.cases}
    found = (case_difference(ref, old.get(ref), new.get(ref)) for ref in {**new, **old})
    return Difference(
        before=before.report,
        after=decision,
        cases=tuple(difference for difference in found if difference is not None),
    )
