"""Which reservations of a scenario the database can keep beside each other.

The format lets two cases reserve the same thing; the engine honours what can be honoured and
reports the rest, which binds nobody.  The database holds no promise that breaks another.  So what
the engine gives to the case that reserved it is kept, then whatever else fits beside it; what does
not fit binds nobody in the file either, and leaving it out changes no verdict.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from scheduling.coverage.clock import Clock
from scheduling.coverage.engine import decide
from scheduling.coverage.report import CaseReport
from scheduling.coverage.scenario_fields import at, shown
from scheduling.coverage.values import Case, Scenario
from scheduling.scenario_files.loadable import tray_busy

Reserved = tuple[str, str]
"""A case's reference and the code of what it reserved."""


def with_kept_reservations(scenario: Scenario) -> tuple[Scenario, list[str]]:
    """The scenario with the reservations that can be kept, and a line for each that cannot:
    its place in the file, and why."""
    given = {report.case: _given(report) for report in decide(scenario).cases}
    kept = _Kept(scenario)
    for honoured in (True, False):
        for case in scenario.cases.values():
            for code in (*case.reserved_units, *case.reserved_trays):
                if (code in given[case.ref]) is honoured:
                    kept.consider(case, code)
    cases = {
        case.ref: replace(
            case,
            reserved_units=tuple(c for c in case.reserved_units if (case.ref, c) in kept.keeps),
            reserved_trays=tuple(c for c in case.reserved_trays if (case.ref, c) in kept.keeps),
        )
        for case in scenario.cases.values()
    }
    lines = [
        f"{at(at(at('cases', index), key), number)}: {shown(code)} {kept.left_out[case.ref, code]}"
        for index, case in enumerate(scenario.cases.values())
        for key in ("reserved_units", "reserved_trays")
        for number, code in enumerate(getattr(case, key))
        if (case.ref, code) in kept.left_out
    ]
    return replace(scenario, cases=cases), lines


def _given(report: CaseReport) -> set[str]:
    """What the engine gives to the case."""
    boxes = {code for line in report.lines for code in line.units}
    trays = {code for line in report.sets for code in line.trays}
    return boxes | trays | set(report.packs)


class _Kept:
    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._clock = Clock(scenario.site)
        self._holder: dict[str, str] = {}
        self._uses: dict[str, list[tuple[datetime, datetime, str]]] = {}
        self.keeps: set[Reserved] = set()
        self.left_out: dict[Reserved, str] = {}

    def consider(self, case: Case, code: str) -> None:
        why = (
            self._box_clash(case, code)
            if code in case.reserved_units
            else self._tray_clash(case, code)
        )
        if why:
            self.left_out[case.ref, code] = why
        else:
            self.keeps.add((case.ref, code))

    def _box_clash(self, case: Case, code: str) -> str:
        expiry = self._scenario.shelf[code].expiry
        if expiry is not None and expiry < self._clock.last_day(case):
            return "is past its use-by date when the case ends"
        if code in self._holder:
            return f"is reserved for case {shown(self._holder[code])}"
        self._holder[code] = case.ref
        return ""

    def _tray_clash(self, case: Case, code: str) -> str:
        begins, ends = tray_busy(self._scenario, self._clock, case, code)
        for other_begins, other_ends, other in self._uses.get(code, ()):
            if begins < other_ends and other_begins < ends:
                return f"is reserved for case {shown(other)}, too near in time"
        self._uses.setdefault(code, []).append((begins, ends, case.ref))
        return ""
