"""An independent checker: every promise of a report, held against the scenario.

It shares no code with the search: needs, clock and all conclusions are worked out anew, so that a
mistake in the engine does not hide itself.  A report without breaches promises nothing twice and
nothing that the stock, the hours or the rules refuse, and no claim is refused where a free unit or
tray, or one given to a later claim, would plainly have served it.  That a refusal is right in
every case would need the search itself; the tests compare that with an exhaustive one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduling.coverage.report import CaseReport, Report, Status, Verdict
from scheduling.coverage.values import Case, Need, Scenario
from scheduling.coverage.verify_clock import House
from scheduling.coverage.verify_needs import Wanted, wanted_by
from scheduling.coverage.verify_trays import Trays
from scheduling.coverage.verify_units import Units


def verify(scenario: Scenario, report: Report) -> list[str]:
    """Every broken promise of a report as `case, line: what is wrong`; empty where all are kept.

    Cost: about as much as deciding a small scenario; quadratic in the units of one item.
    """
    house = House(scenario.site)
    found = list(_cases(scenario, report))
    if found:
        return found  # the rest would only repeat it
    wanted = {ref: wanted_by(scenario, case) for ref, case in scenario.cases.items()}
    if report.now != scenario.site.now:
        found.append("the report is of another moment")
    for told in report.cases:
        case = scenario.cases[told.case]
        found += _moments(house, case, told)
        found += _plan(wanted[case.ref], told)
        found += _lines(scenario, told)
        if told.verdict is not (verdict := _verdict(told)):
            found.append(f"{case.ref}: {told.verdict}, but its lines make it {verdict}")
    found += Units(scenario, report, house).breaches()
    asked = {ref: each.sets for ref, each in wanted.items()}
    found += Trays(scenario, report, house, asked).breaches()
    return found


def _cases(scenario: Scenario, report: Report) -> Iterator[str]:
    told = [each.case for each in report.cases]
    for ref, times in Counter(told).items():
        if ref not in scenario.cases:
            yield f"{ref}: there is no such case"
        elif times > 1:
            yield f"{ref}: reported {times} times"
    for ref in scenario.cases:
        if ref not in told:
            yield f"{ref}: not reported"
    known = [scenario.cases[ref] for ref in told if ref in scenario.cases]
    if known != sorted(known, key=lambda case: (case.start, case.ref)):
        yield "the cases are not in time order"


def _moments(house: House, case: Case, told: CaseReport) -> Iterator[str]:
    if told.needed_by != house.needed_by(case):
        yield f"{case.ref}: needed by {house.needed_by(case):%Y-%m-%d %H:%M} UTC, not as reported"
    if told.out != house.out(case):
        yield f"{case.ref}: out by {house.out(case):%Y-%m-%d %H:%M} UTC, not as reported"


def _plan(wanted: Wanted, told: CaseReport) -> Iterator[str]:
    ref = told.case
    for what, right, said in (
        ("faults", wanted.faults, told.faults),
        ("questions", wanted.questions, told.questions),
    ):
        if said != tuple(sorted(right)):
            yield f"{ref}: {what} are {sorted(right)}, not {list(said)}"
    purposes = [asked.purpose for asked in wanted.sets]
    if purposes != [each.purpose for each in told.sets]:
        yield f"{ref}: asks for the sets {purposes}"
    said_of = Counter((line.need, line.item) for line in told.lines)
    for (need, item), times in said_of.items():
        if times > 1:
            yield f"{ref}, {need} {item}: {times} lines"
        if (need, item) not in wanted.lines:
            yield f"{ref}, {need} {item}: the plan does not ask for it"
    for (need, item), quantity in wanted.lines.items():
        if (need, item) not in said_of:
            yield f"{ref}, {need} {item}: {quantity} needed, no line"
    for line in told.lines:
        needed = wanted.quantity(line.need, line.item)
        if needed and line.quantity != needed:
            yield f"{ref}, {line.need} {line.item}: {needed} needed, the line says {line.quantity}"


def _lines(scenario: Scenario, told: CaseReport) -> Iterator[str]:
    for line in told.lines:
        place = f"{told.case}, {line.need} {line.item}"
        counts = (line.held, line.conditional, line.shared, line.short)
        if min(counts) < 0 or sum(counts) != line.quantity:
            yield f"{place}: {line.quantity} asked, {counts} do not add up to it"
        if line.item not in scenario.implants and line.item not in scenario.instruments:
            yield f"{place}: not in the catalogue"


def _verdict(told: CaseReport) -> Verdict:
    """The first that applies."""
    planned = [line for line in told.lines if line.need is Need.PLANNED]
    if (
        told.faults
        or any(each.status is Status.SHORT for each in told.sets)
        or any(line.short for line in planned)
    ):
        return Verdict.NOT_COVERED
    if told.questions or told.gave_up:
        return Verdict.NOT_KNOWN
    if any(each.status is Status.CONDITIONAL for each in told.sets) or any(
        line.held < line.quantity for line in told.lines if line.need is not Need.SPARE
    ):
        return Verdict.AT_RISK
    if any(line.held < line.quantity for line in told.lines):
        return Verdict.NO_SPARE
    return Verdict.COVERED
