"""Tray claims: list every joint arrangement, then let each claim in turn strike out the others."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import combinations, product
from typing import Any

from tests.coverage_engine.oracle.clock import Clock
from tests.coverage_engine.oracle.implants import time_key
from tests.coverage_engine.oracle.needs import Needs

Entry = dict[str, Any]


@dataclass(frozen=True)
class Bundle:
    """What one case might be given: for each set (option, trays) or None; and packs."""

    sets: tuple[tuple[int, tuple[str, ...]] | None, ...]
    packs: tuple[str, ...]

    @property
    def trays(self) -> tuple[str, ...]:
        return tuple(code for chosen in self.sets if chosen for code in chosen[1])


@dataclass(frozen=True)
class Arrangement:
    """A bundle for every case, and by (case, tray) whether the clock makes that use conditional."""

    bundles: dict[str, Bundle]
    conditional: dict[tuple[str, str], bool]


@dataclass
class TrayResult:
    sets: dict[str, list[str]] = field(default_factory=dict)
    lines: dict[tuple[str, str, str], str] = field(default_factory=dict)
    shown: Arrangement | None = None
    reported: list[tuple[str, str]] = field(default_factory=list)
    arrangements: int = 0


class TrayPuzzle:
    def __init__(
        self, scenario: Entry, clock: Clock, precedence: list[Entry], needs: dict[str, Needs]
    ) -> None:
        self.clock = clock
        self.precedence = precedence
        self.needs = needs
        self.configurations = {c["code"]: c for c in scenario.get("configurations", [])}
        self.trays = {t["code"]: t for t in scenario.get("trays", [])}
        self.instruments = {i["ref"] for i in scenario.get("instruments", [])}
        self.in_time = sorted(precedence, key=lambda case: time_key(clock, case))
        self._uses: dict[tuple[str, str | None, str], bool | None] = {}

    # -- contents and clock ---------------------------------------------------------------------

    def configuration(self, tray: str) -> Entry:
        return self.configurations[self.trays[tray]["configuration"]]

    def is_pack(self, tray: str) -> bool:
        return bool(self.configuration(tray)["kind"] == "supplementary")

    def holds(self, tray: str, ref: str) -> int:
        missing = self.trays[tray].get("missing", {}).get(ref, 0)
        return max(0, self.configuration(tray)["contents"].get(ref, 0) - missing)

    def use(self, tray: str, before: Entry | None, case: Entry) -> bool | None:
        """Whether `case` can have the tray after case `before` (None: as it is now).

        False: yes, with standard turnaround and on site.  True: yes, conditionally.  None: no.
        """
        key = (tray, before["ref"] if before else None, case["ref"])
        if key not in self._uses:
            self._uses[key] = self._use(tray, before, case)
        return self._uses[key]

    def _use(self, tray: str, before: Entry | None, case: Entry) -> bool | None:
        entry = self.trays[tray]
        if entry.get("withdrawn"):
            return None
        arrives = self.clock.moment(entry["arrives"]) if "arrives" in entry else None
        if arrives is not None and arrives < self.clock.now:
            return None
        standard = self.configuration(tray)["turnaround_minutes"]
        fast = self.configuration(tray).get("fast_track_minutes")
        by = self.clock.needed_by(case)
        for minutes, is_conditional in ((standard, False), (fast, True)):
            if minutes is None:
                continue
            if before is not None:
                ready = self.clock.after(self.clock.out(before), minutes)
            elif arrives is not None:
                ready = self.clock.after(arrives, self.clock.loan_check_in + minutes)
            else:
                ready = self._ready_on_site(entry, case, minutes)
            if ready <= by:
                return is_conditional or arrives is not None
        return None

    def _ready_on_site(self, entry: Entry, case: Entry, minutes: int) -> Any:
        ready = self.clock.moment(entry["ready"]) if "ready" in entry else self.clock.now
        if "sterile_until" in entry and self.clock.moment(entry["sterile_until"]) < self.clock.end(
            case
        ):
            return self.clock.after(max(self.clock.now, ready), minutes)
        return ready

    # -- all joint arrangements -----------------------------------------------------------------

    def bundles(self, case: Entry) -> list[Bundle]:
        choices: list[list[tuple[int, tuple[str, ...]] | None]] = []
        for asked in self.needs[case["ref"]].sets:
            met: list[tuple[int, tuple[str, ...]] | None] = [None]
            for number, option in enumerate(asked["options"]):
                of_each = [
                    [code for code, tray in self.trays.items() if tray["configuration"] == kind]
                    for kind in option
                ]
                met += [(number, trays) for trays in product(*of_each)]
            choices.append(met)
        wanted = {*self.needs[case["ref"]].planned, *self.needs[case["ref"]].contingency}
        packs = [
            code
            for code in sorted(self.trays)
            if self.is_pack(code)
            and (
                code in case.get("reserved_trays", [])
                or any(self.holds(code, ref) for ref in wanted)
            )
        ]
        subsets = [subset for size in range(len(packs) + 1) for subset in combinations(packs, size)]
        found = [Bundle(sets, subset) for sets in product(*choices) for subset in subsets]
        return [b for b in found if len(set(b.trays)) == len(b.trays)]

    def arrangements(self) -> Iterator[Arrangement]:
        """Every way to give bundles to the cases so that each use of each tray is possible."""
        by_case = {case["ref"]: self.bundles(case) for case in self.in_time}

        def further(
            number: int,
            bundles: dict[str, Bundle],
            conditional: dict[tuple[str, str], bool],
            last: dict[str, Entry],
        ) -> Iterator[Arrangement]:
            if number == len(self.in_time):
                yield Arrangement(bundles, conditional)
                return
            case = self.in_time[number]
            for bundle in by_case[case["ref"]]:
                codes = bundle.trays + bundle.packs
                uses = {code: self.use(code, last.get(code), case) for code in codes}
                if None in uses.values():
                    continue
                yield from further(
                    number + 1,
                    {**bundles, case["ref"]: bundle},
                    {**conditional, **{(case["ref"], c): bool(u) for c, u in uses.items()}},
                    {**last, **dict.fromkeys(codes, case)},
                )

        return further(0, {}, {}, {})

    # -- what a claim asks of an arrangement ----------------------------------------------------

    def set_is_met(self, a: Arrangement, ref: str, number: int, status: str) -> bool:
        chosen = a.bundles[ref].sets[number]
        return chosen is not None and (
            status == "conditional" or not any(a.conditional[ref, code] for code in chosen[1])
        )

    def set_has(self, a: Arrangement, ref: str, number: int, tray: str) -> bool:
        chosen = a.bundles[ref].sets[number]
        return chosen is not None and tray in chosen[1]

    def pack_is_there(self, a: Arrangement, ref: str, pack: str, status: str) -> bool:
        return pack in a.bundles[ref].packs and (
            status == "conditional" or not a.conditional[ref, pack]
        )

    def instrument_is_met(
        self, a: Arrangement, ref: str, item: str, quantity: int, status: str
    ) -> bool:
        bundle = a.bundles[ref]
        codes = [
            *bundle.trays,
            *(code for code in bundle.packs if self.pack_is_there(a, ref, code, status)),
        ]
        return sum(self.holds(code, item) for code in codes) >= quantity

    # -- the claims, in order -------------------------------------------------------------------

    def solve(self) -> TrayResult:
        result = TrayResult()
        left = list(self.arrangements())
        result.arrangements = len(left)

        def claim(
            good: Callable[[Arrangement, str], bool],
            statuses: tuple[str, ...] = ("held", "conditional"),
        ) -> str:
            nonlocal left
            for status in statuses:
                kept = [a for a in left if good(a, status)]
                if kept:
                    left = kept
                    return status
            return "short"

        for case in self.precedence:
            self._reservations(case, claim, result)
        for case in self.precedence:
            ref = case["ref"]
            result.sets[ref] = []
            for number in range(len(self.needs[ref].sets)):
                status = claim(
                    lambda a, status, ref=ref, number=number: self.set_is_met(
                        a, ref, number, status
                    )
                )
                result.sets[ref].append(status)
                if status == "short":  # a set that is short contributes no tray
                    left = [a for a in left if a.bundles[ref].sets[number] is None]
            for item, quantity in sorted(self.needs[ref].planned.items()):
                if item in self.instruments:
                    result.lines[ref, "planned", item] = claim(
                        lambda a, status, ref=ref, item=item, quantity=quantity: (
                            self.instrument_is_met(a, ref, item, quantity, status)
                        )
                    )
        for case in self.precedence:
            ref = case["ref"]
            for item, excess in sorted(self.needs[ref].contingency.items()):
                if item in self.instruments:
                    both = excess + self.needs[ref].planned.get(item, 0)
                    result.lines[ref, "contingency", item] = claim(
                        lambda a, status, ref=ref, item=item, both=both: self.instrument_is_met(
                            a, ref, item, both, status
                        )
                    )
        result.shown = min(left, key=self._order_shown)
        return result

    def _reservations(self, case: Entry, claim: Callable[..., str], result: TrayResult) -> None:
        ref = case["ref"]
        standing: dict[int, str] = {}
        for code in sorted(case.get("reserved_trays", [])):
            if self.is_pack(code):
                status = claim(
                    lambda a, status, code=code: self.pack_is_there(a, ref, code, status)
                )
            else:
                kind = self.trays[code]["configuration"]
                number = next(
                    (
                        n
                        for n, asked in enumerate(self.needs[ref].sets)
                        if any(kind in option for option in asked["options"])
                    ),
                    None,
                )
                if number is None:
                    status = "short"
                else:
                    statuses = (
                        (standing[number],) if number in standing else ("held", "conditional")
                    )
                    status = claim(
                        lambda a, status, code=code, number=number: (
                            self.set_is_met(a, ref, number, status)
                            and self.set_has(a, ref, number, code)
                        ),
                        statuses,
                    )
                    if status != "short":
                        standing[number] = status
            if status == "short":
                result.reported.append((ref, code))

    def _order_shown(self, a: Arrangement) -> tuple[Any, ...]:
        key: list[Any] = []
        for case in self.in_time:
            bundle = a.bundles[case["ref"]]
            key += [
                tuple(-1 if chosen is None else chosen[0] for chosen in bundle.sets),
                len(bundle.packs),
                bundle.trays,
                bundle.packs,
            ]
        return tuple(key)
