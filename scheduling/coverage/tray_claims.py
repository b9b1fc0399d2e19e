"""Tray claims: which case is promised which sets, trays and supplementary packs.

The claims of a group are taken in order: reservations; then case by case in precedence order its
sets and its planned instruments; then, case by case again, its contingency instruments.  Each is
let in if and only if an arrangement of the whole group honours it beside all those before it.
Three cheap answers come first: the present arrangement already honours it; the case could not be
served even alone; the case can be served without touching the others.  Only then the whole group
is searched.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from scheduling.coverage.precedence import by_precedence
from scheduling.coverage.report import Status
from scheduling.coverage.tray_bundles import Bundle, Bundles, Demand, SetDemand
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_search import GaveUp, arrange
from scheduling.coverage.values import Need

InstrumentLine = tuple[Need, str]
"""A need for an instrument: its level and its reference."""

Claim = int | InstrumentLine | str
"""What was claimed: a set by its place, an instrument line, or a reserved tray by its code."""


@dataclass(slots=True)
class TrayResult:
    """What one case got.

    `sets`: place among the case's sets → status; `instruments`: line → status;
    `refused_reservations`: tray codes that bind nobody; `gave_up`: the claims that a bounded
    search left undecided, which count as not known.
    """

    sets: dict[int, Status] = field(default_factory=dict)
    instruments: dict[InstrumentLine, Status] = field(default_factory=dict)
    refused_reservations: list[str] = field(default_factory=list)
    gave_up: set[Claim] = field(default_factory=set)
    bundle: Bundle = field(default_factory=Bundle)


def claim_trays(group: Group) -> dict[str, TrayResult]:
    """Decide all tray claims of one group; the result by case reference."""
    return _GroupClaims(group).decide()


class _GroupClaims:
    def __init__(self, group: Group) -> None:
        self._group = group
        self._demands = [Demand() for _ in group.cases]
        self._bundles = [Bundle() for _ in group.cases]
        # tray → its uses in the present arrangement, in time order
        self._uses: dict[str, list[tuple[Index, Status]]] = defaultdict(list)
        self._results = [TrayResult() for _ in group.cases]
        self._searched_last = False

    def decide(self) -> dict[str, TrayResult]:
        in_order = sorted(
            range(len(self._group.cases)),
            key=lambda i: by_precedence(self._group.cases[i].case),
        )
        for i in in_order:
            for code in sorted(self._group.cases[i].case.reserved_trays):
                self._claim_reserved(i, code)
        for i in in_order:
            self._claim_sets(i)
            self._claim_instruments(i, Need.PLANNED)
        for i in in_order:
            self._claim_instruments(i, Need.CONTINGENCY)
        self._show_preferred()
        return {
            asking.case.ref: result
            for asking, result in zip(self._group.cases, self._results, strict=True)
        }

    # -- the claims, in order -----------------------------------------------------------------

    def _claim_reserved(self, i: Index, code: str) -> None:
        if self._group.fleet.is_pack(code):
            honoured = any(
                self._try(i, self._demands[i].with_pack(code, status), code)
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
                for number, asked in enumerate(self._group.cases[i].needs.sets)
                if any(configuration in option for option in asked.options)
            ),
            None,
        )
        if number is None:
            return False
        standing = self._demands[i].sets.get(number)
        if standing is not None:
            further = SetDemand(standing.status, (*standing.reserved, code))
            return self._try(i, self._demands[i].with_set(number, further), code)
        for status in (Status.HELD, Status.CONDITIONAL):
            demand = SetDemand(status, (code,))
            if self._try(i, self._demands[i].with_set(number, demand), code):
                self._results[i].sets[number] = status
                return True
        return False

    def _claim_sets(self, i: Index) -> None:
        result = self._results[i]
        for number in range(len(self._group.cases[i].needs.sets)):
            if number in self._demands[i].sets:
                continue
            result.sets[number] = Status.SHORT
            for status in (Status.HELD, Status.CONDITIONAL):
                if self._try(i, self._demands[i].with_set(number, SetDemand(status)), number):
                    result.sets[number] = status
                    break

    def _claim_instruments(self, i: Index, need: Need) -> None:
        """By reference.  A contingency claim is for planned and excess together."""
        result, instruments = self._results[i], self._group.cases[i].needs.instruments
        for ref in sorted(instruments[need]):
            line = (need, ref)
            quantity = instruments[need][ref]
            planned = Status.HELD
            if need is Need.CONTINGENCY and ref in instruments[Need.PLANNED]:
                quantity += instruments[Need.PLANNED][ref]
                planned = result.instruments[Need.PLANNED, ref]
            result.instruments[line] = Status.SHORT
            for status in (Status.HELD, Status.CONDITIONAL):
                # More of an instrument cannot be had in a better way than fewer.
                if planned is Status.SHORT or (
                    planned is Status.CONDITIONAL and status is Status.HELD
                ):
                    continue
                demand = self._demands[i].with_instrument(ref, quantity, status)
                if self._try(i, demand, line):
                    result.instruments[line] = status
                    break

    # -- one claim ----------------------------------------------------------------------------

    def _try(self, i: Index, demand: Demand, claim: Claim) -> bool:
        """Let in what makes case `i`'s demand `demand`, if an arrangement of all honours it."""
        before = self._demands[i]
        self._demands[i] = demand
        if self._met_already(i):
            return True
        if self._possible_alone(i):
            bundle = next(self._bundles_beside_others(i), None)
            if bundle is not None:
                self._put(i, bundle)
                self._searched_last = False
                return True
            try:
                arrangement = arrange(self._group, self._demands)
            except GaveUp:
                arrangement = None
                self._results[i].gave_up.add(claim)
            if arrangement is not None:
                self._show(arrangement)
                return True
        self._demands[i] = before
        return False

    def _met_already(self, i: Index) -> bool:
        """Does the bundle that the case has now meet its demand?  (Looks at instruments only:
        a new set or pack is never there yet.)"""
        demand, bundle = self._demands[i], self._bundles[i]
        if set(bundle.trays) != set(demand.sets) or not set(demand.packs) <= set(bundle.packs):
            return False
        if any(
            not set(wanted.reserved) <= set(bundle.trays[number])
            for number, wanted in demand.sets.items()
        ):
            return False
        return all(
            self._held(bundle, ref, count_conditional=False) >= held
            and self._held(bundle, ref, count_conditional=True) >= total
            for ref, (held, total) in demand.instruments.items()
        )

    def _held(self, bundle: Bundle, ref: str, *, count_conditional: bool) -> int:
        """How many of an instrument the bundle holds: trays whatever their status, and packs."""
        facts = self._group.fleet.facts
        trays = sum(
            facts[code].contents.get(ref, 0) for codes in bundle.trays.values() for code in codes
        )
        return trays + sum(
            facts[code].contents.get(ref, 0)
            for code, status in bundle.packs.items()
            if count_conditional or status is Status.HELD
        )

    def _possible_alone(self, i: Index) -> bool:
        """Could the case be served if it had the whole house to itself?"""
        group = self._group

        def available(code: str, status: Status) -> bool:
            return group.could_serve(code, i, status)

        bundles = Bundles(group.cases[i], self._demands[i], group.fleet, available, group.alike)
        return next(iter(bundles), None) is not None

    def _bundles_beside_others(self, i: Index) -> Iterator[Bundle]:
        """Bundles for case `i` that leave every other case's trays where they are."""
        group, uses = self._group, self._uses

        def neighbours(code: str) -> tuple[Index | None, tuple[Index, Status] | None]:
            """The uses of the tray just before and just after case `i`."""
            others = [use for use in uses.get(code, ()) if use[0] != i]
            place = bisect_left(others, i, key=lambda use: use[0])
            before = others[place - 1][0] if place else None
            return before, others[place] if place < len(others) else None

        def available(code: str, status: Status) -> bool:
            before, following = neighbours(code)
            return group.may_serve(code, i, status, before) and (
                following is None or group.may_serve(code, following[0], following[1], i)
            )

        def alike(code: str) -> object:
            return group.alike(code), neighbours(code)

        def spared(bundle: Bundle) -> bool:
            """Do the trays that the case gives up still serve whom they serve next?"""
            kept = {code for code, _ in bundle.uses(self._demands[i])}
            for code in self._bundles[i].codes():
                before, following = neighbours(code)
                if code in kept or following is None:
                    continue
                if not group.may_serve(code, following[0], following[1], before):
                    return False
            return True

        bundles = Bundles(group.cases[i], self._demands[i], group.fleet, available, alike)
        return (bundle for bundle in bundles if spared(bundle))

    # -- the present arrangement --------------------------------------------------------------

    def _put(self, i: Index, bundle: Bundle) -> None:
        for code in self._bundles[i].codes():
            self._uses[code] = [use for use in self._uses[code] if use[0] != i]
        for code, status in bundle.uses(self._demands[i]):
            insort(self._uses[code], (i, status), key=lambda use: use[0])
        self._bundles[i] = bundle

    def _show(self, arrangement: list[Bundle]) -> None:
        self._uses.clear()
        for i, bundle in enumerate(arrangement):
            self._bundles[i] = bundle
            for code, status in bundle.uses(self._demands[i]):
                self._uses[code].append((i, status))
        self._searched_last = True

    def _show_preferred(self) -> None:
        """Show the preferred arrangement; where the search gives up, the one we have."""
        if not self._searched_last:
            try:
                arrangement = arrange(self._group, self._demands)
            except GaveUp:
                arrangement = None
            if arrangement is not None:
                self._show(arrangement)
        for result, bundle in zip(self._results, self._bundles, strict=True):
            result.bundle = bundle


def tray_results(all_groups: list[Group]) -> Mapping[str, TrayResult]:
    """Decide every group; the results by case reference."""
    results: dict[str, TrayResult] = {}
    for group in all_groups:
        results.update(claim_trays(group))
    return results
