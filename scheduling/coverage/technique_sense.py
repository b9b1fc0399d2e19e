"""Whether a technique makes sense against a catalogue: what the format allows and nobody meant.

A scenario file may hold a rule whose role no item has: the engine says so case by case.  Whoever
writes a technique wants to hear it at once.  Places are those of the technique's own JSON, as in
`rules[2].select.size`.  Pure; cost: the parts of the technique × the items of a role.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from deploy.kit.attributes import ATTRIBUTES
from scheduling.coverage.scenario_fields import REF, at, shown
from scheduling.coverage.values import (
    Check,
    Condition,
    FromPlan,
    Implant,
    Instrument,
    Ladder,
    OneOf,
    Rule,
    Selection,
    Technique,
    Times,
)

Item = Instrument | Implant


def technique_faults(
    technique: Technique, instruments: Iterable[Instrument], implants: Iterable[Implant]
) -> list[str]:
    """Every `place: what is wrong`; empty where the technique can be explained."""
    implants = list(implants)
    sense = _Sense([*instruments, *implants], implants)
    return [
        *chain.from_iterable(
            sense.rule(rule, at("rules", index)) for index, rule in enumerate(technique.rules)
        ),
        *chain.from_iterable(
            sense.check(check, at("checks", index)) for index, check in enumerate(technique.checks)
        ),
        *_conditions(sense, "sets", [one.when for one in technique.sets]),
        *_conditions(sense, "rules", [one.when for one in technique.rules]),
        *_conditions(sense, "checks", [one.when for one in technique.checks]),
        *_conditions(sense, "confirmations", [one.when for one in technique.confirmations]),
    ]


def _conditions(sense: _Sense, key: str, conditions: Sequence[Condition]) -> Iterator[str]:
    for index, condition in enumerate(conditions):
        for path in condition:
            yield from sense.path(path, at(at(at(key, index), "when"), path))


class _Sense:
    """The catalogue by role: what its items can be asked for."""

    def __init__(self, items: Sequence[Item], implants: Sequence[Implant]) -> None:
        self.by_role: dict[str, list[Item]] = {}
        for item in items:
            self.by_role.setdefault(item.role, []).append(item)
        self.component_roles = {implant.role for implant in implants}

    def rule(self, rule: Rule, place: str) -> Iterator[str]:
        items = self.by_role.get(rule.role, [])
        if not items:
            yield f"{place}.role: no instrument or implant has the role {shown(rule.role)}"
        for key, selection in rule.select.items():
            yield from self._selection(rule.role, items, key, selection, f"{place}.select.{key}")

    def _selection(
        self, role: str, items: list[Item], key: str, selection: Selection, place: str
    ) -> Iterator[str]:
        values = [item.ref if key == REF else item.attributes.get(key) for item in items]
        stated = [value for value in values if value is not None]
        if items and not stated:
            yield f"{place}: no {role} states it"
        match selection:
            case FromPlan(path):
                yield from self.path(path, place)
            case Ladder():
                if any(isinstance(value, str) for value in stated):
                    yield f"{place}: a ladder needs numbers, and {key} of {role} is a text"
                for end in dict.fromkeys((selection.start, selection.end)):
                    if isinstance(end, FromPlan):
                        yield from self.path(end.path, place, number=True)
            case OneOf(wanted):
                for value in wanted:
                    if stated and value not in stated:
                        yield f"{place}: no {role} has {shown(value)}"

    def check(self, check: Check, place: str) -> Iterator[str]:
        summed = check.kind == "at least"
        for key, terms in (("left", check.left), ("right", check.right)):
            for index, term in enumerate(terms):
                spot = at(at(place, key), index) if summed else at(place, key)
                if isinstance(term, FromPlan | Times):
                    yield from self.path(term.path, spot, number=summed)

    def path(self, path: str, place: str, *, number: bool = False) -> Iterator[str]:
        """A path to a component's attribute leads to something that an implant states.

        A fact may have any name: only the plan can say whether it is stated.
        """
        role, dot, key = path.rpartition(".")
        if not dot:
            return
        if key != REF and key not in ATTRIBUTES:
            known = ", ".join((REF, *ATTRIBUTES))
            yield f"{place}: {shown(path)} leads to nothing: no attribute {key!r} (known: {known})"
            return
        if role not in self.component_roles:
            yield f"{place}: {shown(path)} leads to nothing: no implant has the role {shown(role)}"
            return
        values = [REF if key == REF else item.attributes.get(key) for item in self.by_role[role]]
        stated = [value for value in values if value is not None]
        if not stated:
            yield f"{place}: {shown(path)} leads to nothing: no {role} states it"
        elif number and any(isinstance(value, str) for value in stated):
            yield f"{place}: {shown(path)} is a text, and a number is needed"
