"""The tray claims of a scenario as one whole-number programme, tray by tray and pair by pair.

Written from the rules alone: a variable for every tray that a set of a case might be given and for
every pack, and two uses of a tray that the clock does not allow exclude each other.  It knows no
pools, no order of search and no report; it shares the site's clock and the needs with the engine.
Reservations are left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import accumulate, combinations
from math import inf

from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from scheduling.coverage.catalogue import Catalogue
from scheduling.coverage.clock import NEVER, Clock, minute
from scheduling.coverage.needs import Techniques, needs_of
from scheduling.coverage.report import Status
from scheduling.coverage.values import SUPPLEMENTARY, Case, Scenario, Tray

HELD, CONDITIONAL = Status.HELD, Status.CONDITIONAL
INFEASIBLE = 2


@dataclass
class Wanted:
    """What one case is to have: sets by place; instruments as (how many held, how many in all)."""

    sets: dict[int, Status] = field(default_factory=dict)
    instruments: dict[str, tuple[int, int]] = field(default_factory=dict)


@dataclass
class _Rows:
    rows: list[dict[int, int]] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)

    def add(self, row: dict[int, int], least: float, most: float) -> None:
        self.rows.append(row)
        self.least.append(least)
        self.most.append(most)


class FullModel:
    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.clock = Clock(scenario.site)
        techniques = Techniques(Catalogue(scenario))
        self.cases = sorted(scenario.cases.values(), key=lambda case: (case.start, case.ref))
        self.needs = {
            case.ref: needs_of(case, scenario.techniques[case.technique], techniques)
            for case in self.cases
        }
        self.trays: dict[str, list[Tray]] = defaultdict(list)
        for tray in scenario.trays.values():
            if not tray.withdrawn and not self._overdue(tray):
                self.trays[tray.configuration].append(tray)
        self._follows: dict[tuple[str, str, str, Status], bool] = {}

    def _overdue(self, tray: Tray) -> bool:
        return tray.arrives is not None and minute(tray.arrives) < self.clock.now

    # -- the clock ----------------------------------------------------------------------------

    def _minutes(self, tray: Tray, status: Status) -> int:
        configuration = self.scenario.configurations[tray.configuration]
        fast = configuration.fast_track_minutes
        if status is HELD or fast is None:
            return configuration.turnaround_minutes
        return fast

    def follows(self, tray: Tray, before: Case, case: Case, status: Status) -> bool:
        """May the tray serve `case` with this status after `before`?"""
        key = tray.configuration, before.ref, case.ref, status
        if key not in self._follows:
            ready = self.clock.after(self.clock.out(before), self._minutes(tray, status))
            self._follows[key] = ready <= self.clock.needed_by(case)
        return self._follows[key] and not (status is HELD and tray.arrives is not None)

    def may_be_first(self, tray: Tray, case: Case, status: Status) -> bool:
        clock, minutes = self.clock, self._minutes(tray, status)
        if tray.arrives is not None:
            check_in = clock.site.loan_check_in_minutes
            late = clock.after(minute(tray.arrives), check_in + minutes)
            return status is not HELD and late <= clock.needed_by(case)
        ready = clock.now if tray.ready is None else minute(tray.ready)
        if tray.sterile_until is not None and minute(tray.sterile_until) < clock.end(case):
            ready = clock.after(max(clock.now, ready), minutes)
        return ready <= min(clock.needed_by(case), NEVER - 1)

    # -- the programme ------------------------------------------------------------------------

    def feasible(self, wanted: Mapping[str, Wanted]) -> bool:
        """Can all cases have what they are to have, together?"""
        rows, number = _Rows(), 0
        uses: dict[str, list[tuple[int, Case, Status]]] = defaultdict(list)
        for case in self.cases:
            number = self._case(case, wanted.get(case.ref, Wanted()), rows, uses, number)
        for code, used in uses.items():
            self._tray(self.scenario.trays[code], used, rows)
        if not all(row or least <= 0 for row, least in zip(rows.rows, rows.least, strict=True)):
            return False
        return number == 0 or _solvable(rows, number)

    def _case(
        self,
        case: Case,
        wanted: Wanted,
        rows: _Rows,
        uses: dict[str, list[tuple[int, Case, Status]]],
        number: int,
    ) -> int:
        held_by: dict[str, dict[int, int]] = defaultdict(dict)
        all_by: dict[str, dict[int, int]] = defaultdict(dict)

        def tray_variable(tray: Tray, status: Status, *, pack: bool) -> int:
            nonlocal number
            uses[tray.code].append((number, case, status))
            contents = self.scenario.configurations[tray.configuration].contents
            for ref in wanted.instruments:
                here = contents.get(ref, 0) - tray.missing.get(ref, 0)
                if here > 0:
                    all_by[ref][number] = here
                    if not pack or status is HELD:
                        held_by[ref][number] = here
            number += 1
            return number - 1

        for place, status in wanted.sets.items():
            options = self.needs[case.ref].sets[place].options
            chosen = {number + place: 1 for place in range(len(options))}
            first, number = number, number + len(options)
            rows.add(chosen, 1, 1)
            for configuration in {code for option in options for code in option}:
                row = {
                    tray_variable(tray, status, pack=False): 1 for tray in self.trays[configuration]
                }
                for place_of, option in enumerate(options):
                    if configuration in option:
                        row[first + place_of] = -option.count(configuration)
                rows.add(row, 0, 0)
        if wanted.instruments:
            for code, trays in self.trays.items():
                sheet = self.scenario.configurations[code]
                if sheet.kind == SUPPLEMENTARY and not wanted.instruments.keys().isdisjoint(
                    sheet.contents
                ):
                    for tray in trays:
                        for status in (HELD, CONDITIONAL):
                            tray_variable(tray, status, pack=True)
        for ref, (held, total) in wanted.instruments.items():
            rows.add(held_by[ref], held, inf)
            rows.add(all_by[ref], total, inf)
        return number

    def _tray(self, tray: Tray, used: list[tuple[int, Case, Status]], rows: _Rows) -> None:
        for (one, before, _), (other, case, status) in combinations(used, 2):
            if before is case or not self.follows(tray, before, case, status):
                rows.add({one: 1, other: 1}, -inf, 1)
        for variable, case, status in used:
            if not self.may_be_first(tray, case, status):
                earlier = {one: -1 for one, other, _ in used if other.start < case.start}
                rows.add({**earlier, variable: 1}, -inf, 0)


def _solvable(rows: _Rows, number: int) -> bool:
    starts = list(accumulate((len(row) for row in rows.rows), initial=0))
    columns = [variable for row in rows.rows for variable in row]
    entries = [entry for row in rows.rows for entry in row.values()]
    matrix = csr_array((entries, columns, starts), shape=(len(rows.rows), number))
    answer = milp(
        [0] * number,
        integrality=[1] * number,
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, rows.least, rows.most),
    )
    assert answer.status in (0, INFEASIBLE), answer.message
    return bool(answer.status == 0)
