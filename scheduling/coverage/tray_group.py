"""The trays, and which of them can serve which case of a group when.

A group is the cases, or the parts of cases, that compete for trays (`tray_parts`).  Within it they
are numbered in time order, so that every use of a tray comes after the uses already given, and
"free again for case j" is one threshold.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

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
    Tray,
)

Index = int
"""A case's place in its group, in time order."""


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
        {
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
    """One case of a group, or a part of it: its moments, what it asks of trays, and the trays
    reserved for it."""

    case: Case
    needs: CaseNeeds
    needed_by: Minute
    end: Minute
    out: Minute
    reserved: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """What tells it from other cases and from other parts of the case."""
        purposes = (asked.purpose for asked in self.needs.sets)
        refs = (ref for refs in self.needs.instruments.values() for ref in refs)
        return (self.case.ref, *purposes, *refs, *self.reserved)


def tray_cases(
    cases: Iterable[Case], needs: Mapping[str, CaseNeeds], clock: Clock
) -> list[TrayCase]:
    """The cases in time order."""
    return [
        TrayCase(
            case,
            needs[case.ref],
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
        self.packs = {
            configuration.code
            for configuration in scenario.configurations.values()
            if configuration.kind == SUPPLEMENTARY
        }
        self._holding: dict[str, set[str]] = defaultdict(set)
        for configuration in scenario.configurations.values():
            for ref in configuration.contents:
                self._holding[ref].add(configuration.code)
        self._most_in: dict[tuple[str, str], int] = {}
        for code in sorted(self.facts):
            facts = self.facts[code]
            self.by_configuration[facts.configuration.code].append(code)
            if facts.configuration.kind == SUPPLEMENTARY:
                for ref in facts.contents:
                    self.packs_with[ref].append(code)

    def holding(self, ref: str) -> frozenset[str]:
        """The configurations that hold an instrument when nothing is missing."""
        return frozenset(self._holding.get(ref, ()))

    def most_in(self, configuration: str, ref: str) -> int:
        """The most of an instrument that any tray of the configuration holds now."""
        key = (configuration, ref)
        if key not in self._most_in:
            codes = self.by_configuration.get(configuration, ())
            self._most_in[key] = max((self.facts[c].contents.get(ref, 0) for c in codes), default=0)
        return self._most_in[key]

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

    def is_pack(self, code: str) -> bool:
        return self.facts[code].configuration.kind == SUPPLEMENTARY

    def configurations_for(self, asking: TrayCase) -> set[str]:
        """The configurations whose trays the case might use."""
        named = {code for asked in asking.needs.sets for option in asked.options for code in option}
        instruments = asking.needs.instruments
        for need in (Need.PLANNED, Need.CONTINGENCY):
            for ref in instruments[need]:
                named.update(
                    self.facts[code].configuration.code for code in self.packs_with.get(ref, ())
                )
        named.update(self.facts[code].configuration.code for code in asking.reserved)
        return named


class Group:
    """The tables of one group: thresholds, first uses, and which trays are alike."""

    def __init__(self, cases: Sequence[TrayCase], fleet: Fleet, clock: Clock) -> None:
        self.cases = cases
        self.fleet = fleet
        self._clock = clock
        self._first_use = FirstUse(clock)
        self._needed = [asking.needed_by for asking in cases]
        self._again: dict[tuple[str, Index], tuple[Index, Index]] = {}
        self._first: dict[tuple[str, Index], tuple[bool, bool]] = {}
        candidates = [fleet.configurations_for(asking) for asking in cases]
        self._last_wanted: dict[str, Index] = {}
        for i, codes in enumerate(candidates):
            for code in codes:
                self._last_wanted[code] = i
        self._wanted_refs = {
            ref
            for asking in cases
            for need in (Need.PLANNED, Need.CONTINGENCY)
            for ref in asking.needs.instruments[need]
        }
        self._reserved = {code for asking in cases for code in asking.reserved}
        # Where a case already over may spare a later one the reprocessing of a dated tray,
        # leaving cases out of sight could make things look worse than they are.
        self.cases_spare_each_other = any(asking.out < clock.now for asking in cases) and any(
            facts.sterile_until is not None for facts in fleet.trays_for(cases)
        )
        self._alike: dict[str, int] = {}
        self._signatures: dict[object, int] = {}
        self._ready_from: dict[str, Index] = {}

    def last_wanted_of(self, code: str) -> Index:
        """The last case that might use the tray; -1 where none might."""
        return self._last_wanted.get(self.fleet.facts[code].configuration.code, -1)

    def again(self, code: str, last: Index) -> tuple[Index, Index]:
        """After serving case `last`: the first case that the tray can serve again, at the
        standard and at the fastest turnaround."""
        facts = self.fleet.facts[code]
        key = (facts.configuration.code, last)
        if key not in self._again:
            out = self.cases[last].out
            standard, fast = (
                bisect_left(self._needed, self._clock.after(out, minutes))
                for minutes in (facts.configuration.turnaround_minutes, facts.fast_minutes)
            )
            self._again[key] = max(standard, last + 1), max(fast, last + 1)
        return self._again[key]

    def first(self, code: str, i: Index) -> tuple[bool, bool]:
        """May case `i` be the tray's first: as held, as conditional?"""
        key = (code, i)
        if key not in self._first:
            facts, asking = self.fleet.facts[code], self.cases[i]
            held, conditional = (
                self._first_use.ready(facts, asking.end, status) <= asking.needed_by
                for status in (Status.HELD, Status.CONDITIONAL)
            )
            self._first[key] = held, conditional
        return self._first[key]

    def may_serve(self, code: str, i: Index, status: Status, last: Index | None) -> bool:
        """May the tray serve case `i` with this status, its use before being case `last`?"""
        if last is None:
            held, conditional = self.first(code, i)
            return held if status is Status.HELD else conditional
        if status is Status.HELD:
            return self.fleet.facts[code].arrives is None and self.again(code, last)[0] <= i
        return self.again(code, last)[1] <= i

    def alike(self, code: str) -> int:
        """Trays with the same number are interchangeable within the group.

        A tray that somebody reserved is like no other.
        """
        if code not in self._alike:
            facts = self.fleet.facts[code]
            signature = (
                facts.configuration.code,
                code if code in self._reserved else "",
                facts.arrives is None,
                frozenset(
                    (ref, n) for ref, n in facts.contents.items() if ref in self._wanted_refs
                ),
                tuple(self.first(code, i) for i in range(len(self.cases))),
            )
            self._alike[code] = self._signatures.setdefault(signature, len(self._signatures))
        return self._alike[code]

    def always_ready(self, code: str, i: Index) -> bool:
        """From case `i` on, an unused tray is as good as one used long ago."""
        if code not in self._ready_from:
            self._ready_from[code] = self._first_always_ready(code)
        return self._ready_from[code] <= i

    def _first_always_ready(self, code: str) -> Index:
        if self.fleet.facts[code].arrives is not None:
            return len(self.cases)
        i = len(self.cases)
        while i and self.first(code, i - 1)[0]:
            i -= 1
        return i
