"""A pack is rejected where it is opened: which free tray of its kind could replace it, line by
line.  On values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.web.arrangement import uses_by_tray
from scheduling.words import item_in_words


@dataclass(frozen=True, slots=True)
class Free:
    """A tray of the same kind in the sterile store.  `given_to`: the cases that count on it;
    `short`: of how many lines it has fewer than are asked for."""

    tray: str
    location: str
    given_to: tuple[str, ...]
    short: int


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of the sheet.  `wanted` by the case, or by the sheet where no case is known;
    `there`: what each free tray has of it, in their order."""

    words: str
    ref: str
    wanted: int
    there: tuple[int, ...]

    @property
    def differs(self) -> bool:
        return any(has < self.wanted for has in self.there)


@dataclass(frozen=True, slots=True)
class Replacing:
    """`case` empty: none is known, and every line of the sheet is wanted.  The lines are those in
    which something is wanted, in tray order; the trays those that lack least first."""

    case: str
    trays: tuple[Free, ...]
    lines: tuple[SheetLine, ...]


def replacing(
    scenario: Scenario, report: Report, rejected: str, free: Sequence[str], case: str
) -> Replacing:
    """`rejected` and `free` are tray codes; KeyError for an unknown one.  No query."""
    contents = scenario.configurations[scenario.trays[rejected].configuration].contents
    wanted = dict(contents)
    of_case = next((one for one in report.cases if one.case == case), None)
    if of_case is not None:
        asked: dict[str, int] = {}
        for line in of_case.lines:
            asked[line.item] = max(asked.get(line.item, 0), line.quantity)
        wanted = {ref: min(asked[ref], whole) for ref, whole in contents.items() if ref in asked}
    uses = uses_by_tray(report)

    def has(code: str, ref: str) -> int:
        return contents[ref] - scenario.trays[code].missing.get(ref, 0)

    trays = [
        Free(
            code,
            scenario.trays[code].location,
            tuple(use.case for use in uses.get(code, ()) if use.case != case),
            sum(has(code, ref) < number for ref, number in wanted.items()),
        )
        for code in free
    ]
    trays.sort(key=lambda one: (one.short, bool(one.given_to), one.tray))
    lines = tuple(
        SheetLine(
            item_in_words(scenario, ref), ref, number, tuple(has(one.tray, ref) for one in trays)
        )
        for ref, number in wanted.items()
    )
    return Replacing(case if of_case is not None else "", tuple(trays), lines)
