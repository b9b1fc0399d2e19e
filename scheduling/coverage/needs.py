"""From a plan to what the case needs: the technique's rules, checks and confirmations.

Silence is not a no: whatever refers to something that the plan does not state selects nothing
and is an open question.  A component that matches no catalogue implant, or several, is a fault
of the plan, and what refers to it selects nothing.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from deploy.kit.attributes import Value
from scheduling.coverage.report import Reason
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
    Selection,
    SetAsked,
    Technique,
    Term,
    Times,
)

Item = Instrument | Implant
Stated = Value | bool


class Unknown(Enum):
    """Why a path has no value."""

    NOT_STATED = "not stated"
    FAULTY = "refers to a component with a fault"


@dataclass(frozen=True, slots=True)
class CaseNeeds:
    """What one case asks for.

    Quantities by catalogue reference, never 0.  `contingency` of instruments is what exceeds
    the planned quantity.  `planned_components` maps a role to the reference it matched.
    `notes`: the ladders that the catalogue cuts short.
    """

    faults: tuple[str, ...]
    questions: tuple[str, ...]
    sets: tuple[SetAsked, ...]
    implants: Mapping[Need, Mapping[str, int]]
    instruments: Mapping[Need, Mapping[str, int]]
    planned_components: Mapping[str, str]
    notes: tuple[Reason, ...]


def same(left: Stated, right: Stated) -> bool:
    """Equal values; a yes or no is never equal to a number (in Python True == 1)."""
    return isinstance(left, bool) == isinstance(right, bool) and left == right


def is_number(value: Stated | None) -> bool:
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def attribute_of(item: Item, key: str) -> Value | None:
    """An item's attribute, None where it has none; `ref` counts as an attribute."""
    return item.ref if key == "ref" else item.attributes.get(key)


class Catalogue:
    """The scenario's instruments and implants, by role."""

    def __init__(self, scenario: Scenario) -> None:
        self.implants = scenario.implants
        self.instruments = scenario.instruments
        self._by_role: dict[str, list[Item]] = defaultdict(list)
        for items in (scenario.instruments, scenario.implants):
            for item in items.values():
                self._by_role[item.role].append(item)
        self._implants_by_role: dict[str, list[Implant]] = defaultdict(list)
        for implant in scenario.implants.values():
            self._implants_by_role[implant.role].append(implant)
        self._selected: dict[object, tuple[Item, ...]] = {}

    def of_role(self, role: str) -> list[Item]:
        return self._by_role.get(role, [])

    def matching(self, role: str, attributes: Mapping[str, Value]) -> list[Implant]:
        """The implants of a role that have all the stated attributes."""
        return [
            implant
            for implant in self._implants_by_role.get(role, [])
            if all(
                (had := attribute_of(implant, key)) is not None and same(had, value)
                for key, value in attributes.items()
            )
        ]

    def select(
        self,
        role: str,
        values: Mapping[str, tuple[Stated, ...]],
        ladders: Mapping[str, tuple[Stated | None, Stated | None, int, int]],
    ) -> tuple[Item, ...]:
        """The items that a resolved selection names.  Remembered: many cases ask the same."""
        key = (
            role,
            tuple(sorted((k, tuple((type(v), v) for v in vs)) for k, vs in values.items())),
            tuple(sorted((k, tuple((type(e), e) for e in ends)) for k, ends in ladders.items())),
        )
        if key not in self._selected:
            self._selected[key] = tuple(self._select(role, values, ladders))
        return self._selected[key]

    def _select(
        self,
        role: str,
        values: Mapping[str, tuple[Stated, ...]],
        ladders: Mapping[str, tuple[Stated | None, Stated | None, int, int]],
    ) -> Iterable[Item]:
        items = [
            item
            for item in self.of_role(role)
            if all(
                (had := attribute_of(item, key)) is not None
                and any(same(had, value) for value in wanted)
                for key, wanted in values.items()
            )
        ]
        # Every ladder counts the rungs among the items of the *other* selections only: two
        # ladders in one rule multiply.
        chosen = {key: rungs_taken(rungs_of(items, key), *ends) for key, ends in ladders.items()}
        return (
            item
            for item in items
            if all(attribute_of(item, key) in taken for key, taken in chosen.items())
        )


def rungs_of(items: Iterable[Item], key: str) -> list[Value]:
    """The distinct values of an attribute, in order; a text is not a rung."""
    values = {value for item in items if is_number(value := attribute_of(item, key))}
    return sorted(value for value in values if value is not None)


def rungs_taken(
    rungs: list[Value], start: Stated | None, end: Stated | None, below: int, above: int
) -> set[Value]:
    """The rungs from start to end, then `below` more under start and `above` more over end.

    Ends need not be rungs.  start > end has no middle, only its extensions.  An end that is a
    text takes nothing: it names no place on the ladder.
    """
    if any(bound is not None and not is_number(bound) for bound in (start, end)):
        return set()
    low = 0 if start is None else bisect_left(rungs, start)
    high = len(rungs) if end is None else bisect_right(rungs, end)
    taken = set(rungs[low:high])
    if start is not None:
        taken.update(rungs[max(0, low - below) : low])
    if end is not None:
        taken.update(rungs[high : high + above])
    return taken


class _Plan:
    """One case's plan against the catalogue: what its paths mean, and what was asked in vain."""

    def __init__(self, case: Case, catalogue: Catalogue) -> None:
        self.case = case
        self.catalogue = catalogue
        self.faults: set[str] = set()
        self.questions: set[str] = set()
        self.matched: dict[str, Implant] = {}
        for role, component in case.components.items():
            found = catalogue.matching(role, component.attributes)
            if len(found) == 1:
                self.matched[role] = found[0]
            else:
                self.faults.add(f"{role}: {'ambiguous' if found else 'not in catalogue'}")

    def value(self, path: str) -> Stated | Unknown:
        """What the plan says at `path`: a fact, or an attribute of a matched component."""
        role, dot, key = path.rpartition(".")
        if not dot:
            fact = self.case.facts.get(path)
            return Unknown.NOT_STATED if fact is None else fact
        if role in self.case.components and role not in self.matched:
            return Unknown.FAULTY
        if role not in self.matched:
            return Unknown.NOT_STATED
        value = attribute_of(self.matched[role], key)
        return Unknown.NOT_STATED if value is None else value

    def asked(self, path: str) -> Stated | None:
        """The value at `path`, or None; an unstated one becomes an open question."""
        value = self.value(path)
        if value is Unknown.NOT_STATED:
            self.questions.add(f"not stated: {path}")
        return None if isinstance(value, Unknown) else value

    def holds(self, when: Condition) -> bool:
        """All paths have one of their values.  Every path is looked at, so that the open
        questions do not depend on the order in which a condition is written."""
        answers = []
        for path, wanted in when.items():
            value = self.asked(path)
            answers.append(value is not None and any(same(value, w) for w in wanted))
        return all(answers)

    def selected(self, rule: Rule) -> tuple[Item, ...]:
        """The catalogue items that a rule selects; none where the plan leaves something open."""
        values: dict[str, tuple[Stated, ...]] = {}
        ladders: dict[str, tuple[Stated | None, Stated | None, int, int]] = {}
        open_ended = False
        for key, selection in rule.select.items():
            resolved = self._resolved(selection)
            if resolved is None:
                open_ended = True
            elif isinstance(selection, Ladder):
                start, end = resolved
                ladders[key] = (start, end, selection.below, selection.above)
            else:
                values[key] = tuple(value for value in resolved if value is not None)
        return () if open_ended else self.catalogue.select(rule.role, values, ladders)

    def _resolved(self, selection: Selection) -> tuple[Stated | None, ...] | None:
        """A selection's values (a ladder's two ends), or None where one is not known."""
        match selection:
            case OneOf(values):
                return values
            case FromPlan(path):
                value = self.asked(path)
                return None if value is None else (value,)
            case Ladder(start, end):
                ends: list[Stated | None] = []
                unknown = False
                for bound in (start, end):
                    if isinstance(bound, FromPlan):
                        ends.append(self.asked(bound.path))
                        unknown = unknown or ends[-1] is None
                    else:
                        ends.append(bound)
                return None if unknown else tuple(ends)

    def cut_ladders(self, rule: Rule, items: tuple[Item, ...]) -> Iterable[Reason]:
        """The ladders of a rule that end before the rule's steps do."""
        if not items:
            return
        fixed = {
            key: tuple(v for v in resolved if v is not None)
            for key, selection in rule.select.items()
            if not isinstance(selection, Ladder) and (resolved := self._resolved(selection))
        }
        candidates = self.catalogue.select(rule.role, fixed, {})
        for key, selection in rule.select.items():
            if not isinstance(selection, Ladder):
                continue
            resolved = self._resolved(selection)
            rungs = rungs_of(candidates, key)
            if resolved is None or not all(b is None or is_number(b) for b in resolved):
                continue
            start, end = resolved
            if selection.below and start is not None:
                made = bisect_left(rungs, start)
                if made < selection.below:
                    yield _cut_short(rule, key, "below", selection.below, made)
            if selection.above and end is not None:
                made = len(rungs) - bisect_right(rungs, end)
                if made < selection.above:
                    yield _cut_short(rule, key, "above", selection.above, made)

    # -- checks and confirmations -------------------------------------------------------------

    def check(self, check: Check) -> None:
        """A failed check is a fault, one with an unknown side an open question."""
        if check.kind == "equal":
            left, right = (self._term(terms[0]) for terms in (check.left, check.right))
            passed = None if left is None or right is None else same(left, right)
        else:
            sums = [self._sum(terms) for terms in (check.left, check.right)]
            passed = None if sums[0] is None or sums[1] is None else sums[0] >= sums[1]
        if passed is None:
            self.questions.add(check.code)
        elif not passed:
            self.faults.add(check.code)

    def _term(self, term: Term) -> Stated | None:
        match term:
            case FromPlan(path):
                value = self.value(path)
                return None if isinstance(value, Unknown) else value
            case Times(factor, path):
                value = self.value(path)
                if isinstance(value, Unknown) or not is_number(value):
                    return None
                return Decimal(factor) * Decimal(value)
            case _:
                return term

    def _sum(self, terms: tuple[Term, ...]) -> Decimal | None:
        total = Decimal(0)
        for term in terms:
            value = self._term(term)
            if value is None or not is_number(value):
                return None
            total += Decimal(value)
        return total


def needs_of(case: Case, technique: Technique, catalogue: Catalogue) -> CaseNeeds:
    """Everything that the case asks for.  Pure; cost: rules × items of the rule's role."""
    plan = _Plan(case, catalogue)
    implants: dict[Need, dict[str, int]] = {need: {} for need in Need}
    instruments: dict[Need, dict[str, int]] = {need: {} for need in Need}
    notes: list[Reason] = []
    for role, implant in plan.matched.items():
        implants[Need.PLANNED][implant.ref] = case.components[role].quantity
    for rule in technique.rules:
        if not plan.holds(rule.when):
            continue
        items = plan.selected(rule)
        notes.extend(reason for reason in plan.cut_ladders(rule, items) if reason not in notes)
        if not items and rule.need is Need.PLANNED:
            plan.faults.add(f"{rule.role}: technique asks for one, catalogue holds none")
        for item in items:
            if isinstance(item, Implant):
                _add(implants[rule.need], item.ref, rule, adds_up=rule.need is Need.PLANNED)
            elif rule.need is not Need.SPARE:
                _add(instruments[rule.need], item.ref, rule, adds_up=False)
    for needs in (implants, instruments):
        needs[Need.CONTINGENCY] = {
            ref: excess
            for ref, quantity in needs[Need.CONTINGENCY].items()
            if (excess := quantity - needs[Need.PLANNED].get(ref, 0)) > 0
        }
    sets = tuple(asked for asked in technique.sets if plan.holds(asked.when))
    for check in technique.checks:
        if plan.holds(check.when):
            plan.check(check)
    for confirmation in technique.confirmations:
        if plan.holds(confirmation.when) and confirmation.code not in case.confirmed:
            plan.questions.add(confirmation.code)
    if not sets and not implants[Need.PLANNED] and not instruments[Need.PLANNED]:
        plan.faults.add("nothing is asked for")
    return CaseNeeds(
        faults=tuple(sorted(plan.faults)),
        questions=tuple(sorted(plan.questions)),
        sets=sets,
        implants=implants,
        instruments=instruments,
        planned_components={role: implant.ref for role, implant in plan.matched.items()},
        notes=tuple(sorted(notes, key=lambda note: [str(value) for value in note.values.values()])),
    )


def _cut_short(rule: Rule, key: str, direction: str, wanted: int, made: int) -> Reason:
    return Reason(
        "ladder cut short",
        {
            "role": rule.role,
            "attribute": key,
            "direction": direction,
            "wanted": wanted,
            "made": made,
        },
    )


def _add(needs: dict[str, int], ref: str, rule: Rule, *, adds_up: bool) -> None:
    have = needs.get(ref, 0)
    needs[ref] = have + rule.quantity if adds_up else max(have, rule.quantity)
