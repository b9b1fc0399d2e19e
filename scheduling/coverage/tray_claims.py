"""Tray claims: which case is promised which sets, trays and supplementary packs.

The claims of a group are taken in order: reservations; then case by case in precedence order its
sets and its planned instruments; then, case by case again, its contingency instruments.  Each is
let in if and only if an arrangement of the whole group honours it beside all those before it
(`tray_arrangement`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from scheduling.coverage.precedence import by_precedence
from scheduling.coverage.report import Status
from scheduling.coverage.tray_arrangement import Arrangement
from scheduling.coverage.tray_bundles import NO_BUNDLE, Bundle, Demand, SetDemand
from scheduling.coverage.tray_conflict import Conflict
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_model import GaveUp
from scheduling.coverage.values import Need

InstrumentLine = tuple[Need, str]
"""A need for an instrument: its level and its reference."""

Claim = int | InstrumentLine | str
"""What was claimed: a set by its place, an instrument line, or a reserved tray by its code."""


@dataclass(slots=True)
class TrayResult:
    """What one case got.

    `sets`: place among the case's sets → status; `instruments`: level → reference → status;
    `refused_reservations`: tray codes that bind nobody; `gave_up`: the claims that a bounded
    search left undecided, which count as not known; `conflicts`: of claims that are short, who
    and what stands against them, where more than one case does.
    """

    sets: dict[int, Status] = field(default_factory=dict)
    instruments: dict[Need, dict[str, Status]] = field(default_factory=dict)
    refused_reservations: list[str] = field(default_factory=list)
    gave_up: set[Claim] = field(default_factory=set)
    conflicts: dict[Claim, Conflict] = field(default_factory=dict)
    bundle: Bundle = NO_BUNDLE


def claim_trays(group: Group) -> dict[str, TrayResult]:
    """Decide all tray claims of one group; the result by case reference."""
    return _GroupClaims(group).decide()


class _GroupClaims:
    def __init__(self, group: Group) -> None:
        self._group = group
        self._arrangement = Arrangement(group)
        self._results = [TrayResult() for _ in group.cases]

    def decide(self) -> dict[str, TrayResult]:
        in_order = sorted(
            range(len(self._group.cases)),
            key=lambda i: by_precedence(self._group.cases[i].case),
        )
        for i in in_order:
            for code in sorted(self._group.cases[i].reserved):
                self._claim_reserved(i, code)
        for i in in_order:
            self._claim_sets(i)
            self._claim_instruments(i, Need.PLANNED)
        for i in in_order:
            self._claim_instruments(i, Need.CONTINGENCY)
        for result, bundle in zip(self._results, self._arrangement.preferred(), strict=True):
            result.bundle = bundle
        return {
            asking.case.ref: result
            for asking, result in zip(self._group.cases, self._results, strict=True)
        }

    # -- the claims, in order -----------------------------------------------------------------

    def _claim_reserved(self, i: Index, code: str) -> None:
        if self._group.fleet.is_pack(code):
            honoured = any(
                self._try(i, self._arrangement.demands[i].with_pack(code, status), code)
                for status in (Status.HELD, Status.CONDITIONAL)
            )
        else:
            honoured = self._claim_set_with(i, code)
        if not honoured:
            self._results[i].refused_reservations.append(code)

    def _claim_set_with(self, i: Index, code: str) -> bool:
        """The set that names the tray's configuration is met with that tray among its trays."""
        configuration = self._group.fleet.facts[code].configuration.code
        number = next(
            (
                number
                for number, asked in enumerate(self._group.cases[i].sets)
                if any(configuration in option for option in asked.options)
            ),
            None,
        )
        if number is None:
            return False
        standing = self._arrangement.demands[i].sets.get(number)
        if standing is not None:
            further = SetDemand(standing.status, (*standing.reserved, code))
            return self._try(i, self._arrangement.demands[i].with_set(number, further), code)
        for status in (Status.HELD, Status.CONDITIONAL):
            demand = SetDemand(status, (code,))
            if self._try(i, self._arrangement.demands[i].with_set(number, demand), code):
                self._results[i].sets[number] = status
                return True
        return False

    def _claim_sets(self, i: Index) -> None:
        result = self._results[i]
        for number in range(len(self._group.cases[i].sets)):
            if number in self._arrangement.demands[i].sets:
                continue
            result.sets[number] = Status.SHORT
            for status in (Status.HELD, Status.CONDITIONAL):
                demand = self._arrangement.demands[i].with_set(number, SetDemand(status))
                if self._try(i, demand, number):
                    result.sets[number] = status
                    break
            else:
                self._explain(i, demand, number)

    def _claim_instruments(self, i: Index, need: Need) -> None:
        """By reference.  A contingency claim is for planned and excess together.

        What is there whichever trays serve the case binds nobody: it need not be claimed.
        """
        result, instruments = self._results[i], self._group.cases[i].instruments
        quantities = instruments[need]
        before = instruments[Need.PLANNED] if need is Need.CONTINGENCY else {}
        if not before.keys().isdisjoint(quantities):
            quantities = {ref: more + before.get(ref, 0) for ref, more in quantities.items()}
        always_there = self._arrangement.always_there(i)
        to_claim = {
            ref: quantity
            for ref, quantity in quantities.items() - always_there.items()
            if quantity > always_there.get(ref, 0)
        }
        statuses = result.instruments[need] = dict.fromkeys(quantities, Status.HELD)
        for ref, quantity in sorted(to_claim.items()):
            line = (need, ref)
            planned = result.instruments[Need.PLANNED][ref] if ref in before else Status.HELD
            statuses[ref] = Status.SHORT
            for status in (Status.HELD, Status.CONDITIONAL):
                # More of an instrument cannot be had in a better way than fewer.
                if planned is Status.SHORT or (
                    planned is Status.CONDITIONAL and status is Status.HELD
                ):
                    continue
                if self._try_instrument(i, line, quantity, status):
                    statuses[ref] = status
                    break

    def _try_instrument(
        self, i: Index, line: InstrumentLine, quantity: int, status: Status
    ) -> bool:
        """One instrument more.  Most are there already, or cannot be: neither needs a search."""
        arrangement, ref = self._arrangement, line[1]
        there = arrangement.holds(i, ref, status) >= quantity
        if not there and not arrangement.could_hold(i, ref, quantity):
            return False
        demand = arrangement.demands[i].with_instrument(ref, quantity, status)
        if there:
            arrangement.demands[i] = demand
            return True
        if self._try(i, demand, line):
            return True
        if status is Status.CONDITIONAL:
            self._explain(i, demand, line)
        return False

    def _explain(self, i: Index, demand: Demand, claim: Claim) -> None:
        """Remember what a claim that is refused, even as conditional, conflicts with."""
        if claim not in self._results[i].gave_up:
            conflict = self._arrangement.conflict(i, demand)
            if conflict is not None and conflict.trays:
                self._results[i].conflicts[claim] = conflict

    def _try(self, i: Index, demand: Demand, claim: Claim) -> bool:
        """Let in what makes case `i`'s demand `demand`; a search that gives up lets nothing in,
        and is remembered."""
        try:
            return self._arrangement.let_in(i, demand)
        except GaveUp:
            self._results[i].gave_up.add(claim)
            return False
