"""The engine: a scenario in, a report out.  Pure; the same input always gives the same words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from scheduling.coverage.clock import Clock, moment
from scheduling.coverage.implant_claims import (
    CaseItem,
    ItemResult,
    Wanting,
    claim_item,
    shelf_order,
)
from scheduling.coverage.implant_reasons import ImplantReasons
from scheduling.coverage.needs import CaseNeeds, Catalogue, needs_of
from scheduling.coverage.precedence import by_precedence, by_time
from scheduling.coverage.report import (
    CaseReport,
    Lean,
    Line,
    Reason,
    Report,
    SetLine,
    Status,
)
from scheduling.coverage.sharing import Leaning, share
from scheduling.coverage.tray_claims import TrayResult, tray_results
from scheduling.coverage.tray_group import Fleet, Group, groups, tray_cases
from scheduling.coverage.tray_reasons import TrayReasons
from scheduling.coverage.values import Case, Need, Scenario, Unit
from scheduling.coverage.verdict import verdict_of


def decide(scenario: Scenario) -> Report:
    """Decide every claim of every case, and say which case is covered."""
    return _Decision(scenario).report()


@dataclass(frozen=True, slots=True)
class ItemOutcome:
    """All that was decided about one catalogue implant."""

    units: list[Unit]
    result: ItemResult
    leanings: list[Leaning]


class _Decision:
    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._clock = Clock(scenario.site)
        catalogue = Catalogue(scenario)
        self._needs: dict[str, CaseNeeds] = {
            case.ref: needs_of(case, scenario.techniques[case.technique], catalogue)
            for case in scenario.cases.values()
        }
        self._units: dict[str, list[Unit]] = defaultdict(list)
        for unit in sorted(scenario.shelf.values(), key=shelf_order):
            self._units[unit.implant].append(unit)
        self._outcomes = self._decide_implants()
        self._trays = self._decide_trays()

    # -- implants -----------------------------------------------------------------------------

    def _decide_implants(self) -> dict[str, ItemOutcome]:
        """Item by item; only items that some case wants."""
        wanting: dict[str, list[Wanting]] = defaultdict(list)
        for case in sorted(self._scenario.cases.values(), key=by_precedence):
            for item, quantities in self._wanted(case).items():
                reserved = tuple(
                    code
                    for code in case.reserved_units
                    if self._scenario.shelf[code].implant == item
                )
                wanting[item].append(Wanting(case, quantities, reserved))
        return {item: self._decide_item(item, wants) for item, wants in wanting.items()}

    def _wanted(self, case: Case) -> Mapping[str, Mapping[Need, int]]:
        wanted: dict[str, dict[Need, int]] = defaultdict(dict)
        for need, quantities in self._needs[case.ref].implants.items():
            for item, quantity in quantities.items():
                wanted[item][need] = quantity
        return wanted

    def _decide_item(self, item: str, wanting: list[Wanting]) -> ItemOutcome:
        units = self._units[item]
        result = claim_item(self._clock, units, wanting)
        leanings = share(self._clock, self._scenario.implants[item], units, result.lines)
        return ItemOutcome(units, result, leanings)

    # -- trays --------------------------------------------------------------------------------

    def _decide_trays(self) -> Mapping[str, TrayResult]:
        self._fleet = Fleet(self._scenario)
        cases = tray_cases(self._scenario.cases.values(), self._needs, self._clock)
        self._groups = [
            Group(group, self._fleet, self._clock)
            for group in groups(cases, self._fleet, self._clock)
        ]
        return tray_results(self._groups)

    # -- the report ---------------------------------------------------------------------------

    def report(self) -> Report:
        lines: dict[str, list[Line]] = defaultdict(list)
        notes: dict[str, list[Reason]] = defaultdict(list)
        for item in sorted(self._outcomes):
            outcome = self._outcomes[item]
            why = ImplantReasons(
                self._clock, self._scenario.implants[item], outcome.units, outcome.result.lines
            )
            for line in outcome.result.lines:
                lines[line.case.ref].append(self._implant_line(item, line, outcome, why))
            for ref, unit in outcome.result.refused_reservations:
                notes[ref].append(Reason("reservation not honoured", {"unit": unit}))
        tray_reasons = TrayReasons(self._clock, self._fleet, self._groups, self._trays)
        return Report(
            now=self._scenario.site.now,
            cases=tuple(
                self._case_report(case, lines[case.ref], notes[case.ref], tray_reasons)
                for case in sorted(self._scenario.cases.values(), key=by_time)
            ),
        )

    def _implant_line(
        self, item: str, line: CaseItem, outcome: ItemOutcome, why: ImplantReasons
    ) -> Line:
        leanings = [leaning for leaning in outcome.leanings if leaning.line is line]
        replaced = sum(leaning.replaced for leaning in leanings)
        shared = len(leanings) - replaced
        return Line(
            need=line.need,
            item=item,
            quantity=line.quantity,
            held=len(line.held) + replaced,
            conditional=len(line.on_order),
            shared=shared,
            short=line.short - len(leanings),
            units=(*line.held, *line.on_order),
            leans_on=tuple(Lean(leaning.unit, leaning.owner) for leaning in leanings),
            because=tuple(why.of(line, leanings)),
        )

    def _case_report(
        self, case: Case, lines: list[Line], notes: list[Reason], why: TrayReasons
    ) -> CaseReport:
        needs, result = self._needs[case.ref], self._trays[case.ref]
        sets = tuple(
            SetLine(
                purpose=asked.purpose,
                status=result.sets[number],
                option=(
                    asked.options[result.bundle.options[number]]
                    if number in result.bundle.options
                    else ()
                ),
                trays=result.bundle.trays.get(number, ()),
                because=tuple(why.of_set(case.ref, number)),
            )
            for number, asked in enumerate(needs.sets)
        )
        lines += [
            _instrument_line(need, ref, quantity, result, why.of_instrument(case.ref, need, ref))
            for need, quantities in needs.instruments.items()
            for ref, quantity in quantities.items()
        ]
        levels = list(Need)
        lines.sort(key=lambda line: (levels.index(line.need), line.item))
        notes += [
            Reason("reservation not honoured", {"tray": code})
            for code in result.refused_reservations
        ]
        notes += [
            Reason(
                "ladder cut short",
                {
                    "role": cut.role,
                    "attribute": cut.attribute,
                    "direction": cut.direction,
                    "wanted": cut.wanted,
                    "made": cut.made,
                },
            )
            for cut in needs.cut_ladders
        ]
        if result.gave_up:
            notes.append(Reason("search gave up", {"claims": len(result.gave_up)}))
        return CaseReport(
            case=case.ref,
            verdict=verdict_of(
                needs.faults,
                needs.questions,
                sets,
                lines,
                undecided_sets=frozenset(
                    needs.sets[claim].purpose for claim in result.gave_up if isinstance(claim, int)
                ),
                undecided_lines=frozenset(
                    claim for claim in result.gave_up if isinstance(claim, tuple)
                ),
                gave_up=bool(result.gave_up),
            ),
            needed_by=moment(self._clock.needed_by(case)),
            out=moment(self._clock.out(case)),
            faults=needs.faults,
            questions=needs.questions,
            sets=sets,
            packs=tuple(sorted(result.bundle.packs)),
            lines=tuple(lines),
            notes=tuple(notes),
            gave_up=bool(result.gave_up),
        )


def _instrument_line(
    need: Need, ref: str, quantity: int, result: TrayResult, because: list[Reason]
) -> Line:
    """An instrument line is wholly in one state."""
    status = result.instruments[need, ref]
    return Line(
        need=need,
        item=ref,
        quantity=quantity,
        held=quantity if status is Status.HELD else 0,
        conditional=quantity if status is Status.CONDITIONAL else 0,
        shared=0,
        short=quantity if status is Status.SHORT else 0,
        because=tuple(because),
    )
