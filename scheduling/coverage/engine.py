"""The engine: a scenario in, a report out.  Pure; the same input always gives the same words.

A decision may start from an earlier one.  What rests on nothing that has changed is taken over:
the needs of a case, all about an item, all about a group of cases that compete for trays.  Each of
these is decided from values alone, so the result is that of a full run.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import Generic, TypeVar

from scheduling.coverage.catalogue import Catalogue
from scheduling.coverage.clock import Clock, moment
from scheduling.coverage.collector import collector_held_off
from scheduling.coverage.department import under_load
from scheduling.coverage.implant_claims import Reserved, Wanted, shelf_order
from scheduling.coverage.implant_outcome import ItemOutcome, item_outcome
from scheduling.coverage.needs import CaseNeeds, Techniques, needs_of
from scheduling.coverage.precedence import by_precedence, by_time
from scheduling.coverage.report import CaseReport, Line, Reason, Report
from scheduling.coverage.tray_group import Fleet, Group, TrayCase, tray_cases
from scheduling.coverage.tray_outcome import TrayOutcome, group_outcome, put_together, told_together
from scheduling.coverage.tray_parts import groups
from scheduling.coverage.values import Case, Need, Scenario, SetAsked, Unit
from scheduling.coverage.verdict import verdict_of

_ALL = "all trays"
_LEVELS = {need: place for place, need in enumerate(Need)}

Key = TypeVar("Key")
Outcome = TypeVar("Outcome")


def decide(scenario: Scenario) -> Report:
    """Decide every claim of every case, and say which case is covered."""
    with collector_held_off():  # until all is gone but the report
        return Decision(scenario).report


def _same_catalogue(one: Scenario, other: Scenario) -> bool:
    return one.instruments == other.instruments and one.implants == other.implants


_item = attrgetter("item")


def _level(line: Line) -> int:
    return _LEVELS[line.need]


class Decided(Generic[Key, Outcome]):
    """Outcomes with the values that each rests on."""

    def __init__(self) -> None:
        self._rests_on: dict[Key, object] = {}
        self._outcomes: dict[Key, Outcome] = {}

    def get(self, key: Key, rests_on: object) -> Outcome | None:
        """The outcome, if it was decided from equal values."""
        if key in self._outcomes and self._rests_on[key] == rests_on:
            return self._outcomes[key]
        return None

    def keep(self, key: Key, rests_on: object, outcome: Outcome) -> Outcome:
        self._rests_on[key] = rests_on
        self._outcomes[key] = outcome
        return outcome


class Decision:
    """One scenario decided.  `before`: an earlier decision to take over from."""

    def __init__(self, scenario: Scenario, before: Decision | None = None) -> None:
        self.scenario = scenario
        if before is not None and before.scenario.site != scenario.site:
            before = None  # another moment or other hours: everything is decided again
        self._before: Decision | None = before
        self._clock: Clock = Clock(scenario.site) if before is None else before._clock.again()
        self._decided_needs: Decided[str, CaseNeeds] = Decided()
        self._decided_items: Decided[str, ItemOutcome] = Decided()
        self._decided_groups: Decided[tuple[str, ...], Mapping[str, TrayOutcome]] = Decided()
        self._decided_trays: Decided[str, Mapping[str, TrayOutcome]] = Decided()
        self._decided_cases: Decided[str, CaseReport] = Decided()
        self._cases = sorted(scenario.cases.values(), key=by_time)
        with collector_held_off():
            self._needs = self._decide_needs()
            self._items = self._decide_items()
            self._trays = self._decide_trays()
            self.report: Report = Report(now=scenario.site.now, cases=self._case_reports())
        self._before = None  # a chain of decisions keeps only its last link

    def sets_asked(self, case: str) -> tuple[SetAsked, ...]:
        """The sets that the case's plan asks for; none for a case that is not in the scenario."""
        needs = self._needs.get(case)
        return needs.sets if needs else ()

    def _decide_needs(self) -> dict[str, CaseNeeds]:
        scenario = self.scenario
        techniques = Techniques(Catalogue(scenario))
        before = self._before
        if before is not None and not _same_catalogue(before.scenario, scenario):
            before = None
        needs = {}
        for case in self._cases:
            technique = scenario.techniques[case.technique]
            rests_on = (case, technique)
            found = before and before._decided_needs.get(case.ref, rests_on)
            needs[case.ref] = self._decided_needs.keep(
                case.ref, rests_on, found or needs_of(case, technique, techniques)
            )
        return needs

    # -- implants, item by item ---------------------------------------------------------------

    def _decide_items(self) -> dict[str, ItemOutcome]:
        shelf = self.scenario.shelf
        units: dict[str, list[Unit]] = defaultdict(list)
        for unit in shelf.values():
            units[unit.implant].append(unit)
        wanted: dict[str, list[Wanted]] = defaultdict(list)
        reserved: dict[str, list[Reserved]] = defaultdict(list)
        in_order = sorted(self._cases, key=by_precedence)
        for need in Need:
            for case in in_order:
                for item, quantity in self._needs[case.ref].implants[need].items():
                    wanted[item].append((case, need, quantity))
        for case in in_order:
            for code in sorted(case.reserved_units):
                reserved[shelf[code].implant].append((case, code))
        return {
            item: self._decide_item(item, units[item], wanted[item], reserved[item])
            for item in sorted(wanted)
        }

    def _decide_item(
        self,
        item: str,
        units: Sequence[Unit],
        wanted: Sequence[Wanted],
        reserved: Sequence[Reserved],
    ) -> ItemOutcome:
        implant = self.scenario.implants[item]
        rests_on = (implant, units, wanted, reserved)
        found = self._before and self._before._decided_items.get(item, rests_on)
        if not found:
            in_order = sorted(units, key=shelf_order)
            found = item_outcome(self._clock, implant, in_order, wanted, reserved)
        return self._decided_items.keep(item, rests_on, found)

    # -- trays, group by group ----------------------------------------------------------------

    def _decide_trays(self) -> Mapping[str, TrayOutcome]:
        scenario = self.scenario
        rests_on = (scenario.cases, self._needs, scenario.trays, scenario.configurations)
        found = self._before and self._before._decided_trays.get(_ALL, rests_on)
        if self._before and found is not None:
            self._decided_groups = self._before._decided_groups
        return self._decided_trays.keep(_ALL, rests_on, found or self._decide_all_trays())

    def _decide_all_trays(self) -> Mapping[str, TrayOutcome]:
        fleet = Fleet(self.scenario)
        cases = tray_cases(self._cases, self._needs, self._clock)
        found: dict[str, list[TrayOutcome]] = defaultdict(list)
        for group in groups(cases, fleet, self._clock):
            for ref, outcome in self._decide_group(group, fleet).items():
                found[ref].append(outcome)
        outcomes = {
            asking.case.ref: put_together(asking, found[asking.case.ref]) for asking in cases
        }
        outcomes = told_together(self._clock, fleet, cases, outcomes)
        return under_load(self._clock, fleet, cases, outcomes)

    def _decide_group(self, cases: Sequence[TrayCase], fleet: Fleet) -> Mapping[str, TrayOutcome]:
        key = cases[0].names  # a part of a case is in one group only
        rests_on = (
            cases,
            fleet.configurations_of(cases),
            fleet.trays_for(cases),
            fleet.packs_lacking_for(cases),
        )
        found = self._before and self._before._decided_groups.get(key, rests_on)
        return self._decided_groups.keep(
            key, rests_on, found or group_outcome(self._clock, Group(cases, fleet, self._clock))
        )

    # -- the report ---------------------------------------------------------------------------

    def _case_reports(self) -> tuple[CaseReport, ...]:
        lines: dict[str, list[Line]] = {ref: list(of.lines) for ref, of in self._trays.items()}
        notes: dict[str, list[Reason]] = {ref: [] for ref in self._trays}
        for outcome in self._items.values():
            for ref, line in outcome.lines:
                lines[ref].append(line)
            for ref, note in outcome.notes:
                notes[ref].append(note)
        return tuple([self._case_report(c, lines[c.ref], notes[c.ref]) for c in self._cases])

    def _case_report(
        self, case: Case, lines: Sequence[Line], notes: Sequence[Reason]
    ) -> CaseReport:
        needs, trays = self._needs[case.ref], self._trays[case.ref]
        rests_on = (case, needs, trays, lines, notes)
        found = self._before and self._before._decided_cases.get(case.ref, rests_on)
        return self._decided_cases.keep(
            case.ref, rests_on, found or self._reported(case, needs, trays, lines, notes)
        )

    def _reported(
        self,
        case: Case,
        needs: CaseNeeds,
        trays: TrayOutcome,
        lines: Sequence[Line],
        notes: Sequence[Reason],
    ) -> CaseReport:
        return CaseReport(
            case=case.ref,
            verdict=verdict_of(
                needs.faults,
                needs.questions,
                trays.sets,
                lines,
                undecided_sets=trays.undecided_sets,
                undecided_lines=trays.undecided_lines,
                gave_up=trays.gave_up,
            ),
            needed_by=moment(self._clock.needed_by(case)),
            out=moment(self._clock.out(case)),
            faults=needs.faults,
            questions=needs.questions,
            sets=trays.sets,
            packs=trays.packs,
            lines=tuple(sorted(sorted(lines, key=_item), key=_level)),  # by level, then item
            notes=(*notes, *trays.notes, *needs.notes),
            gave_up=trays.gave_up,
        )
