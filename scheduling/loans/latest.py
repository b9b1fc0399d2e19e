"""When a loan has to be here for each case that would use it: a rule on values.

A tray is checked in and goes through the whole cycle first, in opening time; a box has to be here
when the case needs it.  A case leans on the loan where something of it serves the case, and where
the case is short of what the loan would bring.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.report import CaseReport, Report, Status
from scheduling.coverage.values import Scenario


@dataclass(frozen=True, slots=True)
class Brings:
    """What the loan is.  `trays`, `units`: codes; `configurations`, `items`: of all its lines."""

    trays: Collection[str] = ()
    configurations: Collection[str] = ()
    units: Collection[str] = ()
    items: Collection[str] = ()


@dataclass(frozen=True, slots=True)
class Latest:
    """One case.  `arrival`: the latest moment at which the loan may arrive (UTC); None: it is too
    late even now.  `ahead`: by when the house wants a loan here for such a case.
    `for_what`: the set's purposes and the REFs that it would serve."""

    case: str
    needed_by: datetime
    arrival: datetime | None
    ahead: datetime
    for_what: tuple[str, ...]

    def flagged(self, comes: datetime | None, now: datetime) -> bool:
        """Whether the loan is, or will be, here later than the house wants it.  `comes` None: it
        has no date yet, and is flagged once that moment is past."""
        return (comes or now) > self.ahead


def latest_arrivals(
    scenario: Scenario, report: Report, brings: Brings, hours_ahead: int
) -> tuple[Latest, ...]:
    """In time order of the cases.  No query."""
    clock = Clock(scenario.site)
    return tuple(
        found
        for case in report.cases
        if (found := _of_case(scenario, clock, case, brings, hours_ahead)) is not None
    )


def _of_case(
    scenario: Scenario, clock: Clock, case: CaseReport, brings: Brings, hours_ahead: int
) -> Latest | None:
    ready_by = minute(case.needed_by)
    for_what: list[str] = []
    minutes = []
    for purpose, configuration in _trays_for(scenario, case, brings):
        for_what.append(purpose)
        minutes.append(
            scenario.site.loan_check_in_minutes
            + scenario.configurations[configuration].turnaround_minutes
        )
    items = _boxes_for(case, brings)
    for_what += items
    if not for_what:
        return None
    latest = [clock.latest_start(each, ready_by) for each in minutes]
    if items:
        latest.append(ready_by if ready_by >= clock.now else None)
    known = [at for at in latest if at is not None]
    return Latest(
        case=case.case,
        needed_by=case.needed_by,
        arrival=moment(min(known)) if len(known) == len(latest) else None,
        ahead=case.needed_by - timedelta(hours=hours_ahead),
        for_what=tuple(dict.fromkeys(for_what)),
    )


def _trays_for(scenario: Scenario, case: CaseReport, brings: Brings) -> Iterator[tuple[str, str]]:
    """(purpose, configuration) of the sets that the loan serves or would serve."""
    technique = scenario.techniques[scenario.cases[case.case].technique]
    options = {asked.purpose: asked.options for asked in technique.sets}
    for line in case.sets:
        used = [code for code in line.trays if code in brings.trays]
        if used:
            yield from ((line.purpose, scenario.trays[code].configuration) for code in used)
        elif line.status is Status.SHORT:
            wanted = dict.fromkeys(code for option in options[line.purpose] for code in option)
            yield from ((line.purpose, code) for code in wanted if code in brings.configurations)


def _boxes_for(case: CaseReport, brings: Brings) -> list[str]:
    return [
        line.item
        for line in case.lines
        if any(unit in brings.units for unit in line.units)
        or (line.short and line.item in brings.items)
    ]
