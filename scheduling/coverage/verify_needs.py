"""What a plan needs, worked out anew for the checker, from the values alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from deploy.kit.attributes import Value
from scheduling.coverage.values import (
    Case,
    Check,
    Condition,
    FromPlan,
    Implant,
    Instrument,
    Ladder,
    Need,
    OneOf,
    Rule,
    Scenario,
    SetAsked,
    Term,
    Times,
)

Said = Value | bool | None
"""A value; None where it is not known."""


@dataclass(slots=True)
class Wanted:
    """What a case asks for; `lines` by need and item."""

    lines: dict[tuple[Need, str], int] = field(default_factory=dict)
    sets: list[SetAsked] = field(default_factory=list)
    faults: set[str] = field(default_factory=set)
    questions: set[str] = field(default_factory=set)

    def quantity(self, need: Need, item: str) -> int:
        return self.lines.get((need, item), 0)


@dataclass(frozen=True, slots=True)
class _Rungs:
    """A ladder whose ends are known, or open (None)."""

    start: Said
    end: Said
    below: int
    above: int

    def chosen(self, steps: list[Decimal]) -> set[Decimal]:
        low = None if self.start is None else _number(self.start)
        high = None if self.end is None else _number(self.end)
        chosen = {s for s in steps if (low is None or s >= low) and (high is None or s <= high)}
        if low is not None and self.below:
            chosen.update([s for s in steps if s < low][-self.below :])
        if high is not None:
            chosen.update([s for s in steps if s > high][: self.above])
        return chosen


def attributes_of(item: Implant | Instrument) -> dict[str, Value]:
    return {**item.attributes, "ref": item.ref}


class _Plan:
    """The values behind the paths of one case; asks about those that are not stated."""

    def __init__(self, scenario: Scenario, case: Case, wanted: Wanted) -> None:
        self.case = case
        self.wanted = wanted
        self.matched: dict[str, Mapping[str, Value] | None] = {}
        for role, component in case.components.items():
            matches = [
                item
                for item in scenario.implants.values()
                if item.role == role
                and all(
                    same(attributes_of(item).get(key), value)
                    for key, value in component.attributes.items()
                )
            ]
            self.matched[role] = attributes_of(matches[0]) if len(matches) == 1 else None
            if len(matches) == 1:
                key = (Need.PLANNED, matches[0].ref)
                wanted.lines[key] = wanted.lines.get(key, 0) + component.quantity
            else:
                trouble = "ambiguous" if matches else "not in catalogue"
                wanted.faults.add(f"{role}: {trouble}")

    def value(self, path: str, *, ask: bool) -> Said:
        role, dot, attribute = path.partition(".")
        if not dot:
            found: Said = self.case.facts.get(path)
        else:
            matched = self.matched.get(role, {})
            if matched is None:
                return None  # the component's fault says why
            found = matched.get(attribute)
        if found is None and ask:
            self.wanted.questions.add(f"not stated: {path}")
        return found

    def holds(self, condition: Condition) -> bool:
        # Every path is looked at, and asked for, also behind one that fails.
        known = {path: self.value(path, ask=True) for path in condition}
        return all(
            any(same(known[path], value) for value in values) for path, values in condition.items()
        )


def wanted_by(scenario: Scenario, case: Case) -> Wanted:
    """The needs, sets, faults and questions of one case."""
    wanted = Wanted()
    plan = _Plan(scenario, case, wanted)
    technique = scenario.techniques[case.technique]
    wanted.sets = [asked for asked in technique.sets if plan.holds(asked.when)]
    for rule in technique.rules:
        if plan.holds(rule.when):
            _apply(scenario, plan, rule, wanted)
    for (need, ref), quantity in list(wanted.lines.items()):
        if need is Need.CONTINGENCY:
            excess = quantity - wanted.quantity(Need.PLANNED, ref)
            if excess > 0:
                wanted.lines[need, ref] = excess
            else:
                del wanted.lines[need, ref]
    for check in technique.checks:
        if plan.holds(check.when):
            passed = _passes(plan, check)
            if passed is None:
                wanted.questions.add(check.code)
            elif not passed:
                wanted.faults.add(check.code)
    for asked in technique.confirmations:
        if plan.holds(asked.when) and asked.code not in case.confirmed:
            wanted.questions.add(asked.code)
    if not wanted.sets and all(need is not Need.PLANNED for need, _ in wanted.lines):
        wanted.faults.add("nothing is asked for")
    return wanted


def _apply(scenario: Scenario, plan: _Plan, rule: Rule, wanted: Wanted) -> None:
    refs = _selected(scenario, plan, rule)
    if not refs and rule.need is Need.PLANNED:
        wanted.faults.add(f"{rule.role}: technique asks for one, catalogue holds none")
    for ref in refs:
        is_implant = ref in scenario.implants
        if rule.need is Need.SPARE and not is_implant:
            continue
        so_far = wanted.quantity(rule.need, ref)
        adds_up = rule.need is Need.PLANNED and is_implant
        wanted.lines[rule.need, ref] = (
            so_far + rule.quantity if adds_up else max(so_far, rule.quantity)
        )


def _selected(scenario: Scenario, plan: _Plan, rule: Rule) -> list[str]:
    fixed: dict[str, tuple[Value, ...]] = {}
    ladders: dict[str, _Rungs] = {}
    known = True
    for attribute, selection in rule.select.items():
        match selection:
            case OneOf(values):
                fixed[attribute] = values
            case FromPlan(path):
                value = plan.value(path, ask=True)
                known = known and value is not None
                fixed[attribute] = () if value is None else (value,)
            case Ladder(start, end, below, above):
                ends = [
                    plan.value(end.path, ask=True) if isinstance(end, FromPlan) else end
                    for end in (start, end)
                ]
                known = known and (start is None) == (ends[0] is None)
                known = known and (end is None) == (ends[1] is None)
                ladders[attribute] = _Rungs(ends[0], ends[1], below, above)
    if not known:
        return []
    everything: list[Implant | Instrument] = [
        *scenario.implants.values(),
        *scenario.instruments.values(),
    ]
    items = [
        item
        for item in everything
        if item.role == rule.role
        and all(
            any(same(attributes_of(item).get(key), value) for value in values)
            for key, values in fixed.items()
        )
    ]
    for attribute, ladder in ladders.items():
        met = [v for i in items if (v := i.attributes.get(attribute)) is not None]
        ends = [end for end in (ladder.start, ladder.end) if end is not None]
        if any(isinstance(value, str | bool) for value in (*met, *ends)):
            plan.wanted.questions.add(f"text on a ladder: {rule.role}.{attribute}")
        if any(isinstance(end, str | bool) for end in ends):
            return []
        steps = {_number(v) for v in met if not isinstance(v, str)}
        fixed[attribute] = tuple(ladder.chosen(sorted(steps)))
    return [
        item.ref
        for item in items
        if all(
            not isinstance(v := item.attributes.get(key), str | None) and _number(v) in fixed[key]
            for key in ladders
        )
    ]


def _passes(plan: _Plan, check: Check) -> bool | None:
    """None where a side is not known."""
    if check.kind == "equal":
        left, right = (_term(plan, side[0]) for side in (check.left, check.right))
        return None if left is None or right is None else same(left, right)
    sums = []
    for side in (check.left, check.right):
        total = Decimal(0)
        for term in side:
            value = _term(plan, term)
            if value is None or isinstance(value, str | bool):
                return None
            total += value
        sums.append(total)
    return sums[0] >= sums[1]


def _term(plan: _Plan, term: Term) -> Said:
    match term:
        case FromPlan(path):
            return plan.value(path, ask=False)
        case Times(factor, path):
            value = plan.value(path, ask=False)
            if value is None or isinstance(value, str | bool):
                return None
            return _number(factor) * _number(value)
        case _:
            return term


def _number(value: Said) -> Decimal:
    if isinstance(value, bool) or value is None:
        raise TypeError(f"not a number: {value!r}")
    return Decimal(value)


def same(left: Said, right: Said) -> bool:
    """Whether two values are the same; numbers by value, never a number and a text."""
    kinds = [
        bool if isinstance(each, bool) else str if isinstance(each, str) else Decimal
        for each in (left, right)
    ]
    return left is not None and kinds[0] is kinds[1] and left == right
