"""What one case takes from the tray store: its demand, and the bundles that would meet it.

A bundle is one option for each of the case's sets, one tray for each configuration of the option,
and the supplementary packs that fill what the trays lack.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from scheduling.coverage.report import Status
from scheduling.coverage.tray_group import Fleet, TrayCase
from scheduling.coverage.values import SetAsked


class SetDemand(NamedTuple):
    """A set claim that stands: at which status, and with which reserved trays among its trays."""

    status: Status
    reserved: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Demand:
    """What a case has been promised so far.

    `sets` by place among the case's sets; `instruments`: reference → (how many must be held,
    how many in all, conditional packs included); `packs`: reserved supplementary packs.
    """

    sets: Mapping[int, SetDemand] = field(default_factory=dict)
    instruments: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    packs: Mapping[str, Status] = field(default_factory=dict)

    def with_set(self, number: int, demand: SetDemand) -> Demand:
        return Demand({**self.sets, number: demand}, self.instruments, self.packs)

    def with_instrument(self, ref: str, quantity: int, status: Status) -> Demand:
        held, total = self.instruments.get(ref, (0, 0))
        held = max(held, quantity) if status is Status.HELD else held
        instruments = {**self.instruments, ref: (held, max(total, quantity))}
        return Demand(self.sets, instruments, self.packs)

    def with_pack(self, code: str, status: Status) -> Demand:
        return Demand(self.sets, self.instruments, {**self.packs, code: status})


class Bundle(NamedTuple):
    """`options`: set → place of the option chosen; `trays`: set → tray codes, in the
    option's order; `packs`: pack → the status it is used with."""

    options: Mapping[int, int]
    trays: Mapping[int, tuple[str, ...]]
    packs: Mapping[str, Status]

    def codes(self) -> Iterator[str]:
        """Every tray and pack of the bundle."""
        for chosen in self.trays.values():
            yield from chosen
        yield from self.packs

    def uses(self, demand: Demand) -> Iterator[tuple[str, Status]]:
        """Every tray and pack of the bundle with the status at which it is used."""
        for number, codes in self.trays.items():
            for code in codes:
                yield code, demand.sets[number].status
        yield from self.packs.items()


NO_BUNDLE = Bundle({}, {}, {})

Available = Callable[[str, Status], bool]
"""May this tray or pack be used by the case, with this status?"""

Alike = Callable[[str], object]
"""Equal answers: of these only the lowest code need be tried."""


class Bundles:
    """The bundles that meet a demand, in the order of preference: the earlier option, the
    fewest packs, the lowest codes.

    A pack is used as held where it is available as held.  `as_little`: where availability is not
    the last word, it is also tried as conditional, and as held only where that is asked for.
    """

    def __init__(
        self,
        asking: TrayCase,
        demand: Demand,
        fleet: Fleet,
        available: Available,
        alike: Alike,
        *,
        as_little: bool = False,
    ) -> None:
        self._sets: Sequence[SetAsked] = asking.sets
        self._demand = demand
        self._fleet = fleet
        self._available = available
        self._alike = alike
        self._as_little = as_little
        self._numbers = sorted(demand.sets)

    def __iter__(self) -> Iterator[Bundle]:
        if not all(self._available(code, status) for code, status in self._demand.packs.items()):
            return
        ranges = [range(len(self._sets[number].options)) for number in self._numbers]
        for places in product(*ranges):
            options = dict(zip(self._numbers, places, strict=True))
            found: Iterable[Bundle] = (
                bundle
                for codes in self._choose_trays(options)
                for bundle in self._choose_packs(options, codes)
            )
            if self._demand.instruments:  # else all have the same packs, and come in order
                found = sorted(found, key=self._preference)
            yield from found

    def _preference(self, bundle: Bundle) -> tuple[int, list[tuple[str, ...]], list[str]]:
        trays = [bundle.trays[number] for number in self._numbers]
        return len(bundle.packs), trays, sorted(bundle.packs)

    # -- trays --------------------------------------------------------------------------------

    def _choose_trays(self, options: Mapping[int, int]) -> Iterator[tuple[str, ...]]:
        """One tray for each configuration of each option, all different, the reserved ones
        among them."""
        slots: list[tuple[Status, Sequence[str]]] = []
        for number, place in options.items():
            demand = self._demand.sets[number]
            option = self._sets[number].options[place]
            reserved = {self._configuration(code): code for code in demand.reserved}
            if len(reserved) < len(demand.reserved) or not reserved.keys() <= set(option):
                return  # two trays for one place, or a tray that the option has no place for
            for configuration in option:
                candidates: Sequence[str] = self._fleet.by_configuration.get(configuration, ())
                if configuration in reserved:
                    candidates = [reserved[configuration]]
                slots.append((demand.status, candidates))
        yield from self._fill(slots, ())

    def _configuration(self, code: str) -> str:
        return self._fleet.facts[code].configuration.code

    def _fill(
        self, slots: Sequence[tuple[Status, Sequence[str]]], chosen: tuple[str, ...]
    ) -> Iterator[tuple[str, ...]]:
        if len(chosen) == len(slots):
            yield chosen
            return
        status, candidates = slots[len(chosen)]
        tried: set[object] = set()
        for code in candidates:
            if (
                code not in chosen
                and code not in self._demand.packs
                and self._available(code, status)
                and (kind := self._alike(code)) not in tried
            ):
                tried.add(kind)
                yield from self._fill(slots, (*chosen, code))

    def _by_set(
        self, options: Mapping[int, int], codes: tuple[str, ...]
    ) -> dict[int, tuple[str, ...]]:
        trays, first = {}, 0
        for number, place in options.items():
            end = first + len(self._sets[number].options[place])
            trays[number] = codes[first:end]
            first = end
        return trays

    # -- packs --------------------------------------------------------------------------------

    def _choose_packs(self, options: Mapping[int, int], codes: tuple[str, ...]) -> Iterator[Bundle]:
        """The packs that fill what the trays lack: none too many, in every way that serves."""
        trays = self._by_set(options, codes)
        if not self._demand.instruments:
            yield Bundle(options, trays, self._demand.packs)
            return
        facts = self._fleet.facts
        lacking: list[tuple[str, int, int]] = []
        for ref in sorted(self._demand.instruments):
            held, total = self._demand.instruments[ref]
            there = sum(facts[code].contents.get(ref, 0) for code in codes)
            for code, status in self._demand.packs.items():
                number = facts[code].contents.get(ref, 0)
                held -= number if status is Status.HELD else 0
                total -= number
            if held > there or total > there:
                lacking.append((ref, held - there, total - there))
        ways: list[list[dict[str, Status]]] = []
        used = {*codes, *self._demand.packs}
        for ref, held, total in lacking:
            ways.append(list(self._packs_for(ref, held, total, used)))
            if not ways[-1]:
                return
        for choice in product(*ways):
            packs = dict(self._demand.packs)
            for part in choice:
                packs |= part
            yield Bundle(options, trays, packs)

    def _packs_for(
        self, ref: str, held: int, total: int, used: set[str]
    ) -> Iterator[dict[str, Status]]:
        """All sets of packs of one instrument of which none could be left out."""
        candidates = self._pack_candidates(ref, held, total, used)

        def enough(picked: Sequence[tuple[str, Status, int]]) -> bool:
            at_hand = sum(n for _, status, n in picked if status is Status.HELD)
            return at_hand >= held and sum(n for _, _, n in picked) >= total

        def choose(
            position: int, picked: list[tuple[str, Status, int]], left_out: frozenset[object]
        ) -> Iterator[dict[str, Status]]:
            if enough(picked):
                if not any(enough(picked[:i] + picked[i + 1 :]) for i in range(len(picked))):
                    yield {code: status for code, status, _ in picked}
                return
            if position == len(candidates):
                return
            code, status, _ = candidates[position]
            if any(code == other for other, _, _ in picked):
                yield from choose(position + 1, picked, left_out)
                return
            kind = (self._alike(code), status)
            if kind not in left_out:
                yield from choose(position + 1, [*picked, candidates[position]], left_out)
            yield from choose(position + 1, picked, left_out | {kind})

        return choose(0, [], frozenset())

    def _pack_candidates(
        self, ref: str, held: int, total: int, used: set[str]
    ) -> list[tuple[str, Status, int]]:
        """Packs of one instrument: code, the status of its use, how many it holds."""
        codes = [code for code in self._fleet.packs_with.get(ref, ()) if code not in used]
        at_hand = [code for code in codes if self._available(code, Status.HELD)]
        at_last = [code for code in codes if self._available(code, Status.CONDITIONAL)]
        if self._as_little:
            at_hand = at_hand if held > 0 else []
            at_last = at_last if total > max(held, 0) else []
            chosen = [(code, Status.HELD) for code in at_hand]
            chosen += [(code, Status.CONDITIONAL) for code in at_last]
        else:
            chosen = [
                (code, Status.HELD if code in at_hand else Status.CONDITIONAL)
                for code in codes
                if code in at_hand or code in at_last
            ]
        return [(code, status, self._fleet.facts[code].contents[ref]) for code, status in chosen]
