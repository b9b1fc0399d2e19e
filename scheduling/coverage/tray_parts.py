"""Which claims on trays can meet: the parts of a case, and the groups that compete.

The claims of one case hang together where they name the same configuration.  A set names those of
its options; an instrument those of the sets that may hold it, and its supplementary packs.  What
does not hang together (the femoral set and the cup set, say) is decided as if it were of two cases.

Parts of different cases hang together if a tray that both might use cannot serve one after the
other at the standard turnaround.  Everything about trays is independent between the groups found.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import chain

from scheduling.coverage.clock import NEVER, Clock
from scheduling.coverage.tray_group import Fleet, TrayCase
from scheduling.coverage.values import Need, SetAsked

_NOTHING: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Claims:
    """Claims of one case: its sets by place, instruments with level and quantity, reserved trays;
    and the configurations that they name."""

    named: frozenset[str]
    sets: dict[int, SetAsked] = field(default_factory=dict)
    instruments: list[tuple[Need, str, int]] = field(default_factory=list)
    reserved: tuple[str, ...] = ()

    def join(self, other: _Claims) -> None:
        self.named |= other.named
        self.sets |= other.sets
        self.instruments += other.instruments
        self.reserved += other.reserved

    def of(self, asking: TrayCase) -> TrayCase:
        """The case as if it asked for these only."""
        instruments: dict[Need, dict[str, int]] = {need: {} for need in asking.instruments}
        for need, ref, quantity in self.instruments:
            instruments[need][ref] = quantity
        return TrayCase(
            asking.case,
            tuple([self.sets[place] for place in sorted(self.sets)]),
            instruments,
            asking.needed_by,
            asking.end,
            asking.out,
            tuple([code for code in asking.reserved if code in self.reserved]),
        )


def groups(cases: Iterable[TrayCase], fleet: Fleet, clock: Clock) -> list[list[TrayCase]]:
    """Split the cases (in time order) into groups of parts that cannot influence each other.

    A case may have a part in several groups, and in none where it asks for nothing.
    """
    found = []
    parts = [(asking, claims) for asking in cases for claims in _parts(asking, fleet)]
    alone = [claims.of(asking) for asking, claims in parts]
    for group in _competing(alone, fleet, clock):
        places: dict[str, list[int]] = defaultdict(list)
        for place in group:
            places[parts[place][0].case.ref].append(place)
        found.append([_whole(parts, alone, of_case) for of_case in places.values()])
    return found


def _whole(
    parts: Sequence[tuple[TrayCase, _Claims]], alone: Sequence[TrayCase], places: Sequence[int]
) -> TrayCase:
    """Parts of a case that meet after all, through other cases, are one again."""
    if len(places) == 1:
        return alone[places[0]]
    claims = _Claims(_NOTHING)
    for place in places:
        claims.join(parts[place][1])
    return claims.of(parts[places[0]][0])


def _parts(asking: TrayCase, fleet: Fleet) -> list[_Claims]:
    """The case's claims in parts: no two parts name the same configuration."""
    found: list[_Claims] = []

    def add(claims: _Claims) -> None:
        """These claims, with all that hang together with them."""
        apart = []
        for other in found:
            if other.named.isdisjoint(claims.named):
                apart.append(other)
            else:
                claims.join(other)
        found[:] = [*apart, claims]

    for place, asked in enumerate(asking.sets):
        add(_Claims(frozenset(chain(*asked.options)), {place: asked}))
    may_hold = fleet.packs.union(*[claims.named for claims in found])
    holding_of = fleet.holding
    held_in: dict[frozenset[str], list[tuple[Need, str, int]]] = defaultdict(list)
    for need, quantities in asking.instruments.items():
        for ref, quantity in quantities.items():
            held_in[holding_of(ref)].append((need, ref, quantity))
    naming: dict[frozenset[str], list[tuple[Need, str, int]]] = defaultdict(list)
    for holding, instruments in held_in.items():
        naming[holding & may_hold] += instruments
    for named, instruments in naming.items():
        add(_Claims(named, instruments=instruments))
    for code in asking.reserved:
        named = frozenset([fleet.facts[code].configuration.code])
        add(_Claims(named, reserved=(code,)))
    return found


def _competing(cases: Sequence[TrayCase], fleet: Fleet, clock: Clock) -> list[list[int]]:
    """Split the cases (in time order; by place) into those that compete for trays.

    Two uses of a tray interact only where the turnaround between them does not fit.  One
    exception: a case already over, whose recorded use would spare a later case the reprocessing
    of a tray past its sterile date, interacts with all later ones of that configuration.
    """
    parent = list(range(len(cases)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    by_configuration: dict[str, list[int]] = defaultdict(list)
    for i, asking in enumerate(cases):
        for code in fleet.configurations_for(asking):
            if fleet.by_configuration.get(code):
                by_configuration[code].append(i)
    for code, members in by_configuration.items():
        trays = [fleet.facts[tray] for tray in fleet.by_configuration[code]]
        turnaround = trays[0].configuration.turnaround_minutes
        dated = any(facts.sterile_until is not None for facts in trays)
        busy_until, holder = -NEVER, -1
        for i in members:
            if cases[i].needed_by < busy_until:
                parent[root(i)] = root(holder)
            out = cases[i].out
            until = NEVER if dated and out < clock.now else clock.after(out, turnaround)
            if until > busy_until:
                busy_until, holder = until, i
    grouped: dict[int, list[int]] = defaultdict(list)
    for i in range(len(cases)):
        grouped[root(i)].append(i)
    return list(grouped.values())
