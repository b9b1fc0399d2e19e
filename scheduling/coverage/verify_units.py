"""The checker's part for implants: units, their sharing, their reservations."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from scheduling.coverage.report import CaseReport, Lean, Line, Report
from scheduling.coverage.values import Case, Implant, Need, Priority, Scenario, Unit
from scheduling.coverage.verify_clock import House

LEVELS = tuple(Need)
RANKS = tuple(Priority)


@dataclass(frozen=True, slots=True)
class Given:
    """A unit that a line counts as its own."""

    unit: Unit
    case: Case
    line: Line


class Units:
    def __init__(self, scenario: Scenario, report: Report, house: House) -> None:
        self.scenario = scenario
        self.report = report
        self.house = house

    def breaches(self) -> Iterator[str]:
        for told in self.report.cases:
            case = self.scenario.cases[told.case]
            for line in told.lines:
                if line.item in self.scenario.implants:
                    yield from self._line(case, line)
        yield from self._given_twice()
        yield from self._reservations()
        for told in self.report.cases:
            if not told.gave_up:
                yield from self._better_was_free(told)

    # -- one line -------------------------------------------------------------------------------

    def _line(self, case: Case, line: Line) -> Iterator[str]:
        place = f"{case.ref}, {line.need} {line.item}"
        on_shelf = on_order = 0
        for code in line.units:
            unit = self.scenario.shelf.get(code)
            if unit is None or unit.implant != line.item:
                yield f"{place}: {code} is no unit of it"
                continue
            if why_not := self.house.unit_serves(unit, case):
                yield f"{place}: {code} cannot serve: {why_not}"
            on_shelf += unit.arrives is None
            on_order += unit.arrives is not None
        replaced = returned = 0
        for lean in line.leans_on:
            if trouble := self._lean(case, line, lean):
                yield f"{place}: leans on {lean.unit}: {trouble}"
            elif self._replaced(case, line, lean):
                replaced += 1
            else:
                returned += 1
        for state, counted, found in (
            ("held", line.held, on_shelf + replaced),
            ("conditional", line.conditional, on_order),
            ("shared", line.shared, returned),
        ):
            if counted != found:
                yield f"{place}: {counted} {state}, but its units make {found}"

    def _lean(self, case: Case, line: Line, lean: Lean) -> str:
        unit = self.scenario.shelf.get(lean.unit)
        if line.need is not Need.CONTINGENCY:
            return "only contingency is shared"
        if unit is None or unit.implant != line.item:
            return "no unit of it"
        if unit.arrives is not None:
            return "not on the shelf"
        if why_not := self.house.unit_serves(unit, case):
            return why_not
        serves = [given for given in self.given if given.unit.code == unit.code]
        if [(given.case.ref, given.line.need) for given in serves] != [
            (lean.case, Need.CONTINGENCY)
        ]:
            return f"it is not a contingency unit of {lean.case}"
        others = self._before(case, lean)
        if case.ref in [other.ref for other in others]:
            return "the case has it already"
        if not self._replaced(case, line, lean) and not all(
            self.house.returned(other) <= self.house.needed_by(case) for other in others
        ):
            return "neither replaced nor back on the shelf by then"
        return ""

    def _before(self, case: Case, lean: Lean) -> list[Case]:
        """The cases that may use the unit before this one leans on it."""
        return [
            self.scenario.cases[lean.case],
            *(
                other
                for other, leans in self.leaning
                if leans.unit == lean.unit and _when(other) < _when(case)
            ),
        ]

    def _replaced(self, case: Case, line: Line, lean: Lean) -> bool:
        item = self.scenario.implants[line.item]
        return (
            item.replaced_on_use
            and item.lead_days is not None
            and all(
                self.house.delivered(self.house.out(other), item) <= self.house.needed_by(case)
                for other in self._before(case, lean)
            )
        )

    # -- all lines together ---------------------------------------------------------------------

    @cached_property
    def given(self) -> list[Given]:
        return [
            Given(self.scenario.shelf[code], self.scenario.cases[told.case], line)
            for told in self.report.cases
            for line in told.lines
            for code in line.units
            if code in self.scenario.shelf
        ]

    @cached_property
    def leaning(self) -> list[tuple[Case, Lean]]:
        return [
            (self.scenario.cases[told.case], lean)
            for told in self.report.cases
            for line in told.lines
            for lean in line.leans_on
        ]

    def _given_twice(self) -> Iterator[str]:
        for code, times in Counter(given.unit.code for given in self.given).items():
            if times > 1:
                cases = sorted(g.case.ref for g in self.given if g.unit.code == code)
                yield f"{code} is given {times} times: {', '.join(cases)}"
        leans = Counter((case.ref, lean.unit) for case, lean in self.leaning)
        for (ref, code), times in leans.items():
            if times > 1:
                yield f"{ref} leans on {code} {times} times"

    @cached_property
    def reserved(self) -> dict[str, tuple[Case, Need]]:
        """By unit, the case and the level for which its reservation stands."""
        standing: dict[str, tuple[Case, Need]] = {}
        for case in sorted(self.scenario.cases.values(), key=_precedence):
            left = Counter(
                {
                    (line.item, line.need): line.quantity
                    for told in self.report.cases
                    if told.case == case.ref
                    for line in told.lines
                }
            )
            for code in sorted(case.reserved_units):
                unit = self.scenario.shelf[code]
                need = next((n for n in LEVELS if left[unit.implant, n] > 0), None)
                if need and code not in standing and not self.house.unit_serves(unit, case):
                    standing[code] = (case, need)
                    left[unit.implant, need] -= 1
        return standing

    def _reservations(self) -> Iterator[str]:
        for code, (case, need) in self.reserved.items():
            if not any(
                g.unit.code == code and g.case.ref == case.ref and g.line.need is need
                for g in self.given
            ):
                yield f"{case.ref}: its reserved unit {code} is not its {need} unit"

    # -- what a line should have had ------------------------------------------------------------

    def _better_was_free(self, told: CaseReport) -> Iterator[str]:
        """A refused claim, beside a unit that nothing, or only a later claim, has."""
        case = self.scenario.cases[told.case]
        for line in told.lines:
            item = self.scenario.implants.get(line.item)
            if item is None:
                continue
            place = f"{case.ref}, {line.need} {line.item}"
            without = line.quantity - len(line.units)
            on_order = [
                code
                for code in line.units
                if code in self.scenario.shelf
                and self.scenario.shelf[code].arrives is not None
                and code not in self.reserved
            ]
            for unit in self._within_reach(case, line, item):
                if unit.arrives is None and on_order:
                    yield f"{place}: on order, though {unit.code} could have been held for it"
                elif without:
                    yield f"{place}: short, though {unit.code} could have been held for it"
            yield from self._older_was_free(case, line, place)

    def _within_reach(self, case: Case, line: Line, item: Implant) -> Iterator[Unit]:
        holders = {given.unit.code: given for given in self.given}
        for unit in self.scenario.shelf.values():
            if unit.implant != item.ref or self.house.unit_serves(unit, case):
                continue
            holder = holders.get(unit.code)
            if holder is None or (
                unit.code not in self.reserved
                and _claim(holder.line.need, holder.case) > _claim(line.need, case)
            ):
                yield unit

    def _older_was_free(self, case: Case, line: Line, place: str) -> Iterator[str]:
        given = {each.unit.code for each in self.given}
        for code in line.units:
            mine = self.scenario.shelf.get(code)
            if mine is None or code in self.reserved:
                continue
            for unit in self.scenario.shelf.values():
                if (
                    unit.implant == mine.implant
                    and unit.code not in given
                    and (unit.arrives is None) == (mine.arrives is None)
                    and _expiring(unit) < _expiring(mine)
                    and not self.house.unit_serves(unit, case)
                ):
                    yield f"{place}: has {code}, though {unit.code} expires first and is free"


def _when(case: Case) -> tuple[object, ...]:
    return case.start, case.ref


def _precedence(case: Case) -> tuple[object, ...]:
    return RANKS.index(case.priority), case.start, case.ref


def _claim(need: Need, case: Case) -> tuple[object, ...]:
    """Where a claim stands in the order of claims."""
    return LEVELS.index(need), *_precedence(case)


def _expiring(unit: Unit) -> tuple[date, str]:
    return unit.expiry or date.max, unit.code
