"""What a technique asks of a plan: which components, and which facts, as its rules name them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.values import (
    Condition,
    FromPlan,
    Ladder,
    Selection,
    Technique,
    Term,
    Times,
)

Stated = Value | bool


class FactKind(StrEnum):
    CHOICE = "choice"
    YES_NO = "yes or no"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class FactAsked:
    """`values`: those that the technique's conditions name.  `when`: the fact matters where one
    of these conditions holds; an empty condition always does."""

    name: str
    kind: FactKind
    values: tuple[Stated, ...] = ()
    when: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """In the order in which the technique names them; figures after choices."""

    roles: tuple[str, ...] = ()
    facts: tuple[FactAsked, ...] = ()


@dataclass(frozen=True, slots=True)
class _Use:
    """One place where the technique refers to the plan."""

    path: str
    when: Condition
    values: tuple[Stated, ...] = ()
    number: bool = False


def asked_of_plan(technique: Technique) -> Asked:
    roles: dict[str, None] = {}
    uses: dict[str, list[_Use]] = {}
    for use in _uses(technique):
        role, dot, _ = use.path.rpartition(".")
        if dot:
            roles.setdefault(role)
        else:
            uses.setdefault(use.path, []).append(use)
    facts = [_fact(name, found) for name, found in uses.items()]
    facts.sort(key=lambda fact: fact.kind is FactKind.NUMBER)
    return Asked(tuple(roles), tuple(facts))


def _fact(name: str, uses: list[_Use]) -> FactAsked:
    values = tuple(dict.fromkeys(value for use in uses for value in use.values))
    if any(use.number for use in uses):
        kind = FactKind.NUMBER
    elif values and all(isinstance(value, bool) for value in values):
        kind = FactKind.YES_NO
    else:
        kind = FactKind.CHOICE
    when: list[Condition] = []
    for use in uses:
        if dict(use.when) not in [dict(one) for one in when]:
            when.append(use.when)
    return FactAsked(name, kind, values, tuple(when))


def _uses(technique: Technique) -> Iterator[_Use]:
    for asked in technique.sets:
        yield from _of_condition(asked.when)
    for rule in technique.rules:
        yield from _of_condition(rule.when)
        for key, selection in rule.select.items():
            number = key in ATTRIBUTES and ATTRIBUTES[key].number
            for path in _paths(selection):
                yield _Use(path, rule.when, number=number)
    for check in technique.checks:
        yield from _of_condition(check.when)
        number = check.kind == "at least" or any(
            _is_number(term) for term in (*check.left, *check.right)
        )
        for term in (*check.left, *check.right):
            if isinstance(term, FromPlan | Times):
                yield _Use(term.path, check.when, number=number)
    for confirmation in technique.confirmations:
        yield from _of_condition(confirmation.when)


def _of_condition(when: Condition) -> Iterator[_Use]:
    for path, values in when.items():
        yield _Use(path, {}, values=tuple(values))


def _paths(selection: Selection) -> list[str]:
    ends = (selection.start, selection.end) if isinstance(selection, Ladder) else (selection,)
    return list(dict.fromkeys(end.path for end in ends if isinstance(end, FromPlan)))


def _is_number(term: Term) -> bool:
    """An attribute that is a number makes the other side of an equation one."""
    if not isinstance(term, FromPlan | Times):
        return False
    role, _, key = term.path.rpartition(".")
    return bool(role) and key in ATTRIBUTES and ATTRIBUTES[key].number
