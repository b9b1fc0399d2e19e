"""The checker's part for trays: sets, packs, instruments, their reservations and their times."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import product

from scheduling.coverage.report import CaseReport, Line, Report, SetLine, Status
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Case,
    Configuration,
    Need,
    Priority,
    Scenario,
    SetAsked,
)
from scheduling.coverage.verify_clock import House

RANKS = tuple(Priority)


class Trays:
    def __init__(
        self,
        scenario: Scenario,
        report: Report,
        house: House,
        asked: dict[str, list[SetAsked]],
    ) -> None:
        self.scenario = scenario
        self.report = report
        self.house = house
        self.asked = asked

    def breaches(self) -> Iterator[str]:
        for told in self.report.cases:
            yield from self._codes(told)
        if any(code not in self.scenario.trays for told in self.report.cases for code in _of(told)):
            return  # nothing more can be said about trays that do not exist
        yield from self._times()
        for told in self.report.cases:
            yield from self._sets(told)
            yield from self._instruments(told)
            yield from self._packs(told)
        yield from self._reserved_packs()
        yield from self._first_reserved_tray()

    def _kind(self, tray: str) -> Configuration:
        return self.scenario.configurations[self.scenario.trays[tray].configuration]

    def _is_pack(self, tray: str) -> bool:
        return self._kind(tray).kind == SUPPLEMENTARY

    def _codes(self, told: CaseReport) -> Iterator[str]:
        for code, times in Counter(_of(told)).items():
            if code not in self.scenario.trays:
                yield f"{told.case}: there is no tray {code}"
            elif times > 1:
                yield f"{told.case}: {code} is there {times} times"
        for code in told.packs:
            if code in self.scenario.trays and not self._is_pack(code):
                yield f"{told.case}: {code} is no supplementary pack"

    # -- times ----------------------------------------------------------------------------------

    @cached_property
    def uses(self) -> dict[str, list[Case]]:
        """By tray, the cases that it serves, in time order."""
        users: dict[str, list[Case]] = {}
        for told in self.report.cases:
            for code in set(_of(told)):
                users.setdefault(code, []).append(self.scenario.cases[told.case])
        return {code: sorted(cases, key=_when) for code, cases in users.items()}

    def _serves(self, tray: str, case: Case, others: Iterable[Case]) -> bool | None:
        """True: on site with standard turnaround.  False: conditionally.  None: it does not."""
        before = max(
            (other for other in others if _when(other) < _when(case)), key=_when, default=None
        )
        return self.house.tray_serves(self.scenario.trays[tray], self._kind(tray), before, case)

    @cached_property
    def in_time(self) -> dict[tuple[str, str], bool | None]:
        """By case and tray, how the tray is there, after the uses before it."""
        return {
            (case.ref, code): self._serves(code, case, cases)
            for code, cases in self.uses.items()
            for case in cases
        }

    def _times(self) -> Iterator[str]:
        for (ref, code), serves in self.in_time.items():
            if serves is None:
                yield f"{ref}: {code} cannot be there in time"

    # -- sets -----------------------------------------------------------------------------------

    def _sets(self, told: CaseReport) -> Iterator[str]:
        case = self.scenario.cases[told.case]
        for each, asked in zip(told.sets, self.asked[told.case], strict=False):
            place = f"{told.case}, {each.purpose}"
            if each.status is Status.SHORT:
                if each.option or each.trays:
                    yield f"{place}: short, but has trays"
            else:
                yield from self._option(place, each, asked)
            if not told.gave_up:
                yield from self._unused_would_do(place, case, each, asked)

    def _option(self, place: str, each: SetLine, asked: SetAsked) -> Iterator[str]:
        if each.option not in asked.options:
            yield f"{place}: the technique has no option {', '.join(each.option)}"
        kinds = tuple(self.scenario.trays[code].configuration for code in each.trays)
        if kinds != each.option:
            yield f"{place}: {', '.join(each.trays)} is not one tray of each configuration"
        ref = place.split(",")[0]
        on_conditions = [code for code in each.trays if not self.in_time[ref, code]]
        if each.status is Status.HELD and on_conditions:
            yield f"{place}: held, but {', '.join(on_conditions)} is there only conditionally"
        if each.status is Status.CONDITIONAL and not on_conditions and not self._may_be_full():
            yield f"{place}: conditional, but all of its trays are there"

    def _may_be_full(self) -> bool:
        """A full department makes conditional what is in time by the clock, and re-arranges
        nothing.  Its simulation is held against another one in its own tests."""
        return bool(self.scenario.site.department)

    def _unused_would_do(
        self, place: str, case: Case, each: SetLine, asked: SetAsked
    ) -> Iterator[str]:
        """A set that is not held, beside trays that no case has and that would do better."""
        if each.status is Status.HELD or not set(each.trays).isdisjoint(case.reserved_trays):
            return
        if each.status is Status.CONDITIONAL and self._may_be_full():
            return
        for option in asked.options:
            spare = [
                [self._serves(code, case, ()) for code in self._unused(kind)] for kind in option
            ]
            if all(True in kind for kind in spare):
                yield f"{place}: {each.status}, though unused trays would hold it"
                return
            if each.status is Status.SHORT and all({True, False} & set(k) for k in spare):
                yield f"{place}: short, though unused trays would do on conditions"

    def _unused(self, configuration: str) -> Iterator[str]:
        for code, tray in self.scenario.trays.items():
            if tray.configuration == configuration and code not in self.uses:
                yield code

    # -- instruments ----------------------------------------------------------------------------

    def _holds(self, codes: Iterable[str], item: str) -> int:
        return sum(
            max(
                0, self._kind(c).contents.get(item, 0) - self.scenario.trays[c].missing.get(item, 0)
            )
            for c in codes
        )

    def _state_of(self, told: CaseReport, packs: Iterable[str], item: str, wanted: int) -> str:
        """What the case's trays and these packs make of a line."""
        trays = [code for each in told.sets for code in each.trays]
        packs = list(packs)
        there = [code for code in packs if self.in_time[told.case, code]]
        if self._holds(trays + there, item) >= wanted:
            return "held"
        return "conditional" if self._holds(trays + packs, item) >= wanted else "short"

    def _wanted(self, told: CaseReport, line: Line) -> int:
        """Contingency is asked for together with the planned ones of the same instrument."""
        if line.need is not Need.CONTINGENCY:
            return line.quantity
        return line.quantity + sum(
            other.quantity
            for other in told.lines
            if other.item == line.item and other.need is Need.PLANNED
        )

    def _instruments(self, told: CaseReport) -> Iterator[str]:
        for line in told.lines:
            if line.item not in self.scenario.instruments:
                continue
            place = f"{told.case}, {line.need} {line.item}"
            if line.units or line.leans_on:
                yield f"{place}: an instrument has no units"
            states = {"held": line.held, "conditional": line.conditional, "short": line.short}
            said = [state for state, count in states.items() if count == line.quantity]
            state = self._state_of(told, told.packs, line.item, self._wanted(told, line))
            if said != [state]:
                counts = ", ".join(f"{count} {name}" for name, count in states.items())
                yield f"{place}: {counts}, but its trays and packs make it {state}"

    def _packs(self, told: CaseReport) -> Iterator[str]:
        """A pack that nobody reserved and no line needs."""
        case = self.scenario.cases[told.case]
        lines = [line for line in told.lines if line.item in self.scenario.instruments]
        for code in told.packs:
            rest = [other for other in told.packs if other != code]
            if code not in case.reserved_trays and all(
                self._state_of(told, told.packs, line.item, self._wanted(told, line))
                == self._state_of(told, rest, line.item, self._wanted(told, line))
                for line in lines
            ):
                yield f"{told.case}: nothing needs {code}"
        if told.gave_up:
            return
        for line in lines:
            if line.held == line.quantity:
                continue
            for code in self.scenario.trays:
                if code in self.uses or not self._is_pack(code):
                    continue
                serves = self._serves(code, case, ())
                packs = [*told.packs] if serves is None else [*told.packs, code]
                there = [p for p in packs if p == code or self.in_time[told.case, p]]
                trays = [c for each in told.sets for c in each.trays]
                if serves and self._holds(trays + there, line.item) >= self._wanted(told, line):
                    yield f"{told.case}, {line.need} {line.item}: not held, though {code} is unused"

    # -- reservations ---------------------------------------------------------------------------

    def _in_precedence(self) -> list[Case]:
        return sorted(
            self.scenario.cases.values(), key=lambda c: (RANKS.index(c.priority), *_when(c))
        )

    def _reserved_packs(self) -> Iterator[str]:
        """A pack is reserved apart from all else, so who has it can be told exactly."""
        packs = {case: set(_of(told)) for told in self.report.cases for case in [told.case]}
        for code in self.scenario.trays:
            if not self._is_pack(code):
                continue
            standing: list[tuple[Case, bool]] = []
            for case in self._in_precedence():
                if code not in case.reserved_trays:
                    continue
                for held in (True, False):
                    tried = [*standing, (case, held)]
                    cases = [c for c, _ in tried]
                    if all(self._at_least(code, c, cases, h) for c, h in tried):
                        standing = tried
                        break
            for case, held in standing:
                if code not in packs[case.ref]:
                    yield f"{case.ref}: its reserved pack {code} is not with it"
                elif held and not self.in_time[case.ref, code]:
                    yield f"{case.ref}: its reserved pack {code} is there only conditionally"

    def _at_least(self, tray: str, case: Case, cases: list[Case], held: bool) -> bool:
        serves = self._serves(tray, case, cases)
        return serves is not None and (serves or not held)

    def _first_reserved_tray(self) -> Iterator[str]:
        """The first tray reservation of all has nothing before it that could refuse it."""
        for case in self._in_precedence():
            for code in sorted(case.reserved_trays):
                kind = self.scenario.trays[code].configuration
                if self._is_pack(code):
                    continue
                asked = next(
                    (a for a in self.asked[case.ref] if any(kind in o for o in a.options)), None
                )
                if asked is None or not self._can_be_met(asked, case, code):
                    continue
                told = self.report.case(case.ref)
                if code not in _of(told):
                    yield f"{case.ref}: its reserved tray {code} is not with it"
                return

    def _can_be_met(self, asked: SetAsked, case: Case, tray: str) -> bool:
        for option in asked.options:
            of_each = [
                [c for c, t in self.scenario.trays.items() if t.configuration == kind]
                for kind in option
            ]
            for codes in product(*of_each):
                if tray in codes and all(
                    self._serves(code, case, ()) is not None for code in codes
                ):
                    return True
        return False


def _of(told: CaseReport) -> list[str]:
    return [*(code for each in told.sets for code in each.trays), *told.packs]


def _when(case: Case) -> tuple[object, ...]:
    return case.start, case.ref
