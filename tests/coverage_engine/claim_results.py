"""The results of all claims of a report, in the order in which the claims are made.

For comparing two reports on nearly the same scenario: the lists have the same claims in the same
places as long as all earlier results are the same, so the usual order of tuples says which report
is better.  Smaller is better.
"""

from __future__ import annotations

from scheduling.coverage.report import CaseReport, Line, Report, Status
from scheduling.coverage.values import SUPPLEMENTARY, Case, Need, Priority, Scenario

HELD, CONDITIONAL, SHORT = range(3)
Results = tuple[int, ...]


def claim_results(
    scenario: Scenario, report: Report, leave_out: str | None = None
) -> dict[str, Results]:
    """By problem ("trays", or an implant's reference) the results, in claim order.

    `leave_out`: a case whose claims are not looked at.  Reserved packs are not told apart in a
    report, so a scenario with reserved packs is refused.
    """
    cases = [
        case
        for case in sorted(
            scenario.cases.values(),
            key=lambda case: (list(Priority).index(case.priority), case.start, case.ref),
        )
        if case.ref != leave_out
    ]
    told = {each.case: each for each in report.cases}
    results = {item: _implants(scenario, cases, told, item) for item in scenario.implants}
    return {**results, "trays": _trays(scenario, cases, told)}


def _implants(
    scenario: Scenario, cases: list[Case], told: dict[str, CaseReport], item: str
) -> Results:
    results: list[int] = []
    for case in cases:
        given = {code for line in told[case.ref].lines for code in line.units}
        for code in sorted(case.reserved_units):
            unit = scenario.shelf[code]
            if unit.implant == item:
                kind = CONDITIONAL if unit.arrives else HELD
                results.append(kind if code in given else SHORT)
    for need in Need:
        for case in cases:
            for line in told[case.ref].lines:
                if (line.need, line.item) == (need, item):
                    results += _units_of(scenario, line)
    return tuple(results)


def _units_of(scenario: Scenario, line: Line) -> list[int]:
    """A shared unit is lent after all claims are decided: its claim is short."""
    kinds = [CONDITIONAL if scenario.shelf[code].arrives else HELD for code in line.units]
    return sorted([*kinds, *[SHORT] * (line.quantity - len(line.units))])


def _trays(scenario: Scenario, cases: list[Case], told: dict[str, CaseReport]) -> Results:
    results: list[int] = []
    for case in cases:
        for code in sorted(case.reserved_trays):
            results.append(_reserved_tray(scenario, case, told[case.ref], code))
    for case in cases:
        results += [_rank(each.status) for each in told[case.ref].sets]
        results += _instruments(scenario, told[case.ref], Need.PLANNED)
    for case in cases:
        results += _instruments(scenario, told[case.ref], Need.CONTINGENCY)
    return tuple(results)


def _reserved_tray(scenario: Scenario, case: Case, told: CaseReport, code: str) -> int:
    """A reserved tray is for the first set that names its configuration, and for no other."""
    kind = scenario.trays[code].configuration
    assert scenario.configurations[kind].kind != SUPPLEMENTARY
    options = {a.purpose: a.options for a in scenario.techniques[case.technique].sets}
    for each in told.sets:
        if any(kind in option for option in options[each.purpose]):
            return _rank(each.status) if code in each.trays else SHORT
    return SHORT


def _rank(status: Status) -> int:
    return list(Status).index(status)


def _instruments(scenario: Scenario, told: CaseReport, need: Need) -> list[int]:
    return [
        HELD if line.held else CONDITIONAL if line.conditional else SHORT
        for line in sorted(told.lines, key=lambda line: line.item)
        if line.need is need and line.item in scenario.instruments
    ]
