"""The trying behind ways out: a change is made, everything is decided again, and compared.

Bounded, so that a page can wait for it: `MOST_TRIES` changes a case.  What was tried is the same
from run to run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduling.coverage.changes import Change
from scheduling.coverage.clock import Clock
from scheduling.coverage.engine import Decision
from scheduling.coverage.report import CaseReport, Report, Verdict
from scheduling.coverage.values import Case, Need, Priority, Scenario
from scheduling.coverage.whatif import HELD, Badness, Difference, Gap, gaps, rank, what_if

MOST_TRIES = 160
"""How many changes are tried for one case, at most."""

_URGENCY = {priority: place for place, priority in enumerate(Priority)}


class TriedEnough(Exception):
    """The bound is reached; what was found until then stands."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A change that helps the case: its verdict is better, or, with the same verdict, one of its
    gaps is smaller and none greater."""

    change: Change
    difference: Difference
    verdict: Verdict
    gaps: dict[Gap, Badness]

    def leaves(self, gap: Gap) -> Badness:
        return self.gaps.get(gap, HELD)


class Search:
    """Tries changes for one case against one decision."""

    def __init__(self, before: Decision, ref: str) -> None:
        self.before = before
        self.scenario: Scenario = before.scenario
        self.case: Case = before.scenario.cases[ref]
        self.report: CaseReport = before.report.case(ref)
        self.clock = Clock(before.scenario.site)
        self.zone = ZoneInfo(before.scenario.site.timezone)
        self.needed_by = self.clock.needed_by(self.case)
        self.gaps = gaps(self.report)
        self.tries = 0
        self._tried: dict[Change, Attempt | None] = {}

    @property
    def others(self) -> Iterator[CaseReport]:
        """The reports of all other cases, in time order."""
        return (report for report in self.before.report.cases if report.case != self.case.ref)

    def decide(self, scenario: Scenario) -> Difference:
        """One try.  Raises TriedEnough past the bound."""
        if self.tries >= MOST_TRIES:
            raise TriedEnough
        self.tries += 1
        return what_if(self.before, scenario)

    def attempt(self, change: Change) -> Attempt | None:
        """Make the change and decide again; None where it does not help the case, where it takes
        from a case of a more urgent class, or breaks a reservation that it does not name."""
        if change not in self._tried:
            self._tried[change] = self._attempt(change)
        return self._tried[change]

    def _attempt(self, change: Change) -> Attempt | None:
        difference = self.decide(change.applied(self.scenario))
        own = difference.case(self.case.ref)
        if own is None or own.after is None:
            return None
        better = rank(own.after.verdict) < rank(self.report.verdict)
        if not better and (own.after.verdict is not self.report.verdict or own.worse):
            return None
        if not better and not own.better:
            return None
        if _refused(difference.after.report) - _refused(self.before.report):
            return None
        urgency = _URGENCY[self.case.priority]
        if any(
            _URGENCY[self.scenario.cases[ref].priority] < urgency for ref in difference.worsened
        ):
            return None
        return Attempt(change, difference, own.after.verdict, gaps(own.after))

    def improves(self, attempt: Attempt) -> bool:
        return rank(attempt.verdict) < rank(self.report.verdict)

    def fewest(self, item: str, most: int, of: Callable[[int], Change]) -> Iterator[Attempt]:
        """As few of an item, at most `most`, as make a better verdict.

        Where more of them make a better one still, or only more close every gap of the item, that
        many too.  Where no number does either, the fewest that help at all.
        """
        best, helping, told = self.report.verdict, None, False
        for quantity in range(1, most + 1):
            attempt = self.attempt(of(quantity))
            if attempt is None:
                continue
            helping = helping or attempt
            closed = not any(name == item for _, name in attempt.gaps)
            if closed or rank(attempt.verdict) < rank(best):
                yield attempt
                best, told = attempt.verdict, True
            if closed:
                break
        if helping and not told:
            yield helping

    # -- what is open ---------------------------------------------------------------------------

    def open_sets(self) -> list[int]:
        """The sets that are not held, by their place among the report's sets."""
        return [
            number
            for number, line in enumerate(self.report.sets)
            if (None, line.purpose) in self.gaps
        ]

    def open_items(self, refs: Iterable[str]) -> list[str]:
        """The items among `refs` of which a line is not held, those of short sets aside."""
        folded = {
            line.item
            for line in self.report.lines
            if any(reason.code == "follows from set" for reason in line.because)
        }
        wanted = {item for need, item in self.gaps if need is not None} - folded
        return sorted(wanted.intersection(refs))

    def lines_of(self, item: str) -> dict[Need, Badness]:
        """The open lines of an item."""
        return {need: bad for (need, name), bad in self.gaps.items() if name == item and need}


def _refused(report: Report) -> set[tuple[str, str]]:
    """The reservations that are not honoured: the case, and what it reserved."""
    return {
        (case.case, str(note.values.get("tray") or note.values.get("unit")))
        for case in report.cases
        for note in case.notes
        if note.code == "reservation not honoured"
    }


def trays_of(report: CaseReport) -> tuple[str, ...]:
    """Every tray and pack that the case uses, in the arrangement shown."""
    return (*(code for line in report.sets for code in line.trays), *report.packs)


def uses_of(report: Report, tray: str) -> list[str]:
    """The cases that use a tray or pack, in time order, in the arrangement shown."""
    return [case.case for case in report.cases if tray in trays_of(case)]
