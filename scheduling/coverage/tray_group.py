"""The trays, and which of them can serve which case of a group when.

A group is the cases, or the parts of cases, that compete for trays (`tray_parts`).  Within it they
are numbered in time order, so that every use of a tray comes after the uses already given, and
"free again for case j" is one threshold.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import chain
from operator import and_

from scheduling.coverage.bits import Bits, bits_of
from scheduling.coverage.clock import NEVER, Clock, Minute, minute
from scheduling.coverage.needs import CaseNeeds
from scheduling.coverage.precedence import by_time
from scheduling.coverage.report import Status
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Case,
    Configuration,
    Need,
    Scenario,
    SetAsked,
    Tray,
)

Index = int
"""A case's place in its group, in time order."""

Options = tuple[tuple[str, ...], ...]
"""The options of a set: each the configurations of which it takes a tray."""

_NOWHERE: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class TrayFacts:
    """A tray as the claims see it: what it holds now, and its configuration's speeds."""

    tray: Tray
    configuration: Configuration
    contents: Mapping[str, int]
    ready: Minute | None
    arrives: Minute | None
    sterile_until: Minute | None

    @property
    def fast_minutes(self) -> int:
        """The fastest turnaround there is: fast track, or the standard one without it."""
        fast = self.configuration.fast_track_minutes
        return self.configuration.turnaround_minutes if fast is None else fast


def tray_facts(tray: Tray, configuration: Configuration) -> TrayFacts:
    """Contents now = the configuration's less what that very tray lacks."""
    return TrayFacts(
        tray,
        configuration,
        configuration.contents
        if not tray.missing
        else {
            ref: left
            for ref, quantity in configuration.contents.items()
            if (left := quantity - tray.missing.get(ref, 0)) > 0
        },
        *(
            None if when is None else minute(when)
            for when in (tray.ready, tray.arrives, tray.sterile_until)
        ),
    )


class FirstUse:
    """When a tray is ready for the first case that it serves."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock

    def ready(self, facts: TrayFacts, end: Minute, status: Status) -> Minute:
        """Ready for a case that ends at `end`, at the speed that `status` allows.

        NEVER where it cannot be: withdrawn, overdue, or awaited and `status` is held (arrival is
        a recorded receipt).  Whatever lies past its sterile date before that case ends must be
        reprocessed first.
        """
        clock = self._clock
        if facts.tray.withdrawn:
            return NEVER
        minutes = (
            facts.configuration.turnaround_minutes if status is Status.HELD else facts.fast_minutes
        )
        if facts.arrives is not None:
            if status is Status.HELD or facts.arrives < clock.now:
                return NEVER
            return clock.after(facts.arrives, clock.site.loan_check_in_minutes + minutes)
        ready = clock.now if facts.ready is None else facts.ready
        if facts.sterile_until is not None and facts.sterile_until < end:
            return clock.after(max(clock.now, ready), minutes)
        return ready


@dataclass(frozen=True, slots=True)
class TrayCase:
    """One case of a group, or a part of it: its moments, the sets and instruments that it asks for,
    and the trays reserved for it."""

    case: Case
    sets: tuple[SetAsked, ...]
    instruments: Mapping[Need, Mapping[str, int]]
    needed_by: Minute
    end: Minute
    out: Minute
    reserved: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """What tells it from other cases and from other parts of the case."""
        purposes = [asked.purpose for asked in self.sets]
        return (self.case.ref, *purposes, *chain(*self.instruments.values()), *self.reserved)


def tray_cases(
    cases: Iterable[Case], needs: Mapping[str, CaseNeeds], clock: Clock
) -> list[TrayCase]:
    """The cases in time order."""
    return [
        TrayCase(
            case,
            needs[case.ref].sets,
            needs[case.ref].instruments,
            clock.needed_by(case),
            clock.end(case),
            clock.out(case),
            case.reserved_trays,
        )
        for case in sorted(cases, key=by_time)
    ]


class Fleet:
    """All trays, by configuration and code."""

    def __init__(self, scenario: Scenario) -> None:
        self.facts = {
            tray.code: tray_facts(tray, scenario.configurations[tray.configuration])
            for tray in scenario.trays.values()
        }
        self._configurations = scenario.configurations
        self.by_configuration: dict[str, list[str]] = defaultdict(list)
        self.packs_with: dict[str, list[str]] = defaultdict(list)
        self.packs_lacking: dict[str, list[str]] = defaultdict(list)
        """Instrument → the packs of it of which some or all is missing."""
        self.packs = {
            configuration.code
            for configuration in scenario.configurations.values()
            if configuration.kind == SUPPLEMENTARY
        }
        holding: dict[str, set[str]] = defaultdict(set)
        for configuration in scenario.configurations.values():
            for ref in configuration.contents:
                holding[ref].add(configuration.code)
        self._holding = {ref: frozenset(codes) for ref, codes in holding.items()}
        self._most_in: dict[tuple[str, str], int] = {}
        self._least_in: dict[Options, Mapping[str, int]] = {}
        self._named: dict[int, tuple[TrayCase, set[str]]] = {}
        for code in sorted(self.facts):
            facts = self.facts[code]
            self.by_configuration[facts.configuration.code].append(code)
            if facts.configuration.kind == SUPPLEMENTARY:
                for ref in facts.contents:
                    self.packs_with[ref].append(code)
                for ref in facts.configuration.contents.keys() & facts.tray.missing.keys():
                    self.packs_lacking[ref].append(code)

    def holding(self, ref: str) -> frozenset[str]:
        """The configurations that hold an instrument when nothing is missing."""
        return self._holding.get(ref, _NOWHERE)

    def most_in(self, configuration: str, ref: str) -> int:
        """The most of an instrument that any tray of the configuration holds now."""
        key = (configuration, ref)
        if key not in self._most_in:
            codes = self.by_configuration.get(configuration, ())
            self._most_in[key] = max((self.facts[c].contents.get(ref, 0) for c in codes), default=0)
        return self._most_in[key]

    def least_in(self, options: Options) -> Mapping[str, int]:
        """What is there whichever of the options a set is met with, and by whichever trays."""
        if options not in self._least_in:
            least = [
                sum([self._least_of(code) for code in option], Counter())
                for option in options
                if all(self.by_configuration.get(code) for code in option)
            ]
            self._least_in[options] = reduce(and_, least) if least else {}
        return self._least_in[options]

    def _least_of(self, configuration: str) -> Counter[str]:
        """What every tray of the configuration holds now."""
        least = Counter(self._configurations[configuration].contents)
        for code in self.by_configuration[configuration]:
            for ref in least.keys() & self.facts[code].tray.missing:
                least[ref] = min(least[ref], self.facts[code].contents.get(ref, 0))
        return least

    def configurations_of(self, cases: Sequence[TrayCase]) -> list[Configuration]:
        """All configurations of which the cases might use a tray, those without a tray too."""
        named = {code for asking in cases for code in self.configurations_for(asking)}
        return [self._configurations[code] for code in sorted(named)]

    def trays_for(self, cases: Sequence[TrayCase]) -> list[TrayFacts]:
        """All trays that the cases might use, by code."""
        named = {code for asking in cases for code in self.configurations_for(asking)}
        return [
            self.facts[code]
            for configuration in sorted(named)
            for code in self.by_configuration.get(configuration, ())
        ]

    def packs_lacking_for(self, cases: Sequence[TrayCase]) -> Sequence[tuple[str, Sequence[str]]]:
        """By the instruments that the cases want the packs of which they are missing: they are told
        of, whether or not a case might use them."""
        lacking = self.packs_lacking
        wanted = [refs.keys() for asking in cases for refs in asking.instruments.values()]
        refs = {ref for quantities in wanted for ref in lacking.keys() & quantities}
        return [(ref, lacking[ref]) for ref in sorted(refs)]

    def is_pack(self, code: str) -> bool:
        return self.facts[code].configuration.kind == SUPPLEMENTARY

    def configurations_for(self, asking: TrayCase) -> set[str]:
        """The configurations whose trays the case might use.  Remembered, with the case itself:
        so no other has its identity."""
        known = self._named.get(id(asking))
        if known is None:
            known = self._named[id(asking)] = asking, self._configurations_for(asking)
        return known[1]

    def _configurations_for(self, asking: TrayCase) -> set[str]:
        named = {code for asked in asking.sets for option in asked.options for code in option}
        for quantities in asking.instruments.values():
            for ref in self.packs_with.keys() & quantities:
                named.update(self.facts[code].configuration.code for code in self.packs_with[ref])
        named.update(self.facts[code].configuration.code for code in asking.reserved)
        return named


class Group:
    """The tables of one group: what may follow what, and when trays are ready for a first use."""

    def __init__(self, cases: Sequence[TrayCase], fleet: Fleet, clock: Clock) -> None:
        self.cases = cases
        self.fleet = fleet
        self._clock = clock
        self._first_use = FirstUse(clock)
        self._all: Bits = (1 << len(cases)) - 1
        self._needed = [asking.needed_by for asking in cases]
        self._last_end = max((asking.end for asking in cases), default=clock.now)
        self.wanted_refs: set[str] = set().union(
            *[refs for asking in cases for refs in asking.instruments.values()]
        )
        self.reserved = {code for asking in cases for code in asking.reserved}
        self.sparing = self._sparing()
        """Cases already over: where trays are dated, their use of one may spare a later case its
        reprocessing.  Only theirs: any other case is out of theatre too late for that."""
        self._again: dict[tuple[str, Index], tuple[Index, Index]] = {}
        self._over: dict[str, tuple[list[int], list[int]]] = {}
        self._ready_from: dict[tuple[str, Status], Index] = {}
        self._first: dict[tuple[str, Status], Bits] = {}
        self._most_at_once: dict[str, int] = {}

    def only(self, places: Sequence[Index]) -> Group:
        """A group of some of these cases, given in time order."""
        return Group([self.cases[i] for i in places], self.fleet, self._clock)

    def _sparing(self) -> frozenset[Index]:
        over = [i for i, asking in enumerate(self.cases) if asking.out < self._clock.now]
        dated = over and any(self._is_dated(facts) for facts in self.fleet.trays_for(self.cases))
        return frozenset(over if dated else ())

    def _is_dated(self, facts: TrayFacts) -> bool:
        """Does its sterile date matter to any case of the group?"""
        return facts.sterile_until is not None and facts.sterile_until < self._last_end

    # -- one use after another ----------------------------------------------------------------

    def again(self, code: str, last: Index) -> tuple[Index, Index]:
        """After serving case `last`: the first case that the tray can serve again, at the
        standard and at the fastest turnaround."""
        facts = self.fleet.facts[code]
        key = (facts.configuration.code, last)
        if key not in self._again:
            out, after = self.cases[last].out, self._clock.after
            standard = bisect_left(self._needed, after(out, facts.configuration.turnaround_minutes))
            fast = bisect_left(self._needed, after(out, facts.fast_minutes))
            self._again[key] = max(standard, last + 1), max(fast, last + 1)
        return self._again[key]

    def over_for(self, code: str, i: Index, status: Status) -> int:
        """The cases, as bits, after whose use the tray can serve case `i` with this status."""
        configuration = self.fleet.facts[code].configuration.code
        if configuration not in self._over:
            self._over[configuration] = self._over_by_case(code)
        return self._over[configuration][status is not Status.HELD][i]

    def _over_by_case(self, code: str) -> tuple[list[int], list[int]]:
        size = len(self.cases)
        over: tuple[list[int], list[int]] = [0] * (size + 1), [0] * (size + 1)
        for last in range(size):
            for table, again in zip(over, self.again(code, last), strict=True):
                table[again] |= 1 << last
        for table in over:
            for i in range(1, size):
                table[i] |= table[i - 1]
        return over

    def may_serve(self, code: str, i: Index, status: Status, last: Index | None) -> bool:
        """May the tray serve case `i` with this status, its use before being case `last`?"""
        if last is None:
            return self.first_uses(code, status) >> i & 1 == 1
        if status is Status.HELD:
            return self.fleet.facts[code].arrives is None and self.again(code, last)[0] <= i
        return self.again(code, last)[1] <= i

    def most_at_once(self, code: str) -> int:
        """How many trays of the tray's configuration one case may use at most."""
        configuration = self.fleet.facts[code].configuration.code
        if self.fleet.is_pack(code):
            return len(self.fleet.by_configuration[configuration])
        if configuration not in self._most_at_once:
            self._most_at_once[configuration] = max(
                sum(
                    max([option.count(configuration) for option in asked.options])
                    for asked in asking.sets
                )
                for asking in self.cases
            )
        return self._most_at_once[configuration]

    # -- the first use ------------------------------------------------------------------------

    def out_of_use(self, facts: TrayFacts) -> bool:
        """On hold, or overdue."""
        overdue = facts.arrives is not None and facts.arrives < self._clock.now
        return facts.tray.withdrawn or overdue

    def first_uses(self, code: str, status: Status) -> Bits:
        """The cases, as bits, of which the tray's first use may be, with this status."""
        key = code, status
        if key not in self._first:
            facts = self.fleet.facts[code]
            if self._is_dated(facts) and facts.arrives is None:
                ready = self._first_use.ready
                self._first[key] = bits_of(
                    i
                    for i, asking in enumerate(self.cases)
                    if ready(facts, asking.end, status) <= asking.needed_by
                )
            else:
                self._first[key] = self._all & -1 << self.ready_from(code, status)
        return self._first[key]

    def ready_from(self, code: str, status: Status) -> Index:
        """The first case that a tray whose sterile date does not matter can be used for."""
        key = code, status
        if key not in self._ready_from:
            ready = self._first_use.ready(self.fleet.facts[code], -NEVER, status)
            self._ready_from[key] = bisect_left(self._needed, ready)
        return self._ready_from[key]

    def unused(self, code: str, i: Index) -> object:
        """How ready an unused tray is for case `i` and those after it: equal where it makes no
        difference to them, None where it is ready for all of them."""
        facts = self.fleet.facts[code]
        if facts.arrives is not None:
            return max(self.ready_from(code, Status.CONDITIONAL), i)
        if self._is_dated(facts):
            held = self.first_uses(code, Status.HELD)
            is_ready = held >> i == self._all >> i
            return None if is_ready else (held, self.first_uses(code, Status.CONDITIONAL))
        ready = self.ready_from(code, Status.HELD)
        return None if ready <= i else ready
