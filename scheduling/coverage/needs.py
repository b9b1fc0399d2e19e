"""From a plan to what the case needs: the technique's rules, checks and confirmations.

Silence is not a no: whatever refers to something that the plan does not state selects nothing
and is an open question.  A component that matches no catalogue implant, or several, is a fault
of the plan, and what refers to it selects nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from scheduling.coverage.catalogue import (
    Catalogue,
    Stated,
    attribute_of,
    is_number,
    same,
    told_apart,
)
from scheduling.coverage.report import Reason
from scheduling.coverage.rules import CatalogueRule, Unknown, ValueAt, holds
from scheduling.coverage.values import (
    Case,
    Check,
    Condition,
    FromPlan,
    Implant,
    Need,
    Rule,
    SetAsked,
    Technique,
    Term,
    Times,
)


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


class _Told(dict[str, object]):
    """What a plan says at each path, `told_apart`: worked out when it is asked for."""

    def __init__(self, value_at: ValueAt) -> None:
        self._value_at = value_at

    def __missing__(self, path: str) -> object:
        told = self[path] = told_apart(self._value_at(path))
        return told


class _Plan:
    """One case's plan against the catalogue: what its paths mean, and what was asked in vain."""

    def __init__(self, case: Case, catalogue: Catalogue) -> None:
        self.case = case
        self.faults: set[str] = set()
        self.questions: set[str] = set()
        self.matched: dict[str, Implant] = {}
        self._values: dict[str, Stated | Unknown] = {}
        self.told = _Told(self.value)
        for role, component in case.components.items():
            found = catalogue.matching(role, component.attributes)
            if len(found) == 1:
                self.matched[role] = found[0]
            else:
                self.faults.add(f"{role}: {'ambiguous' if found else 'not in catalogue'}")

    def value(self, path: str) -> Stated | Unknown:
        """What the plan says at `path`: a fact, or an attribute of a matched component."""
        if path not in self._values:
            self._values[path] = self._value(path)
        return self._values[path]

    def _value(self, path: str) -> Stated | Unknown:
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

    def holds(self, when: Condition) -> bool:
        return holds(when, self.value, self.questions)

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


class Techniques:
    """The techniques against one catalogue: what their rules selected so far is remembered."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._rules_of: dict[str, tuple[Technique, list[CatalogueRule]]] = {}
        self._rules: dict[str, CatalogueRule] = {}

    def rules_of(self, technique: Technique) -> list[CatalogueRule]:
        known = self._rules_of.get(technique.code)
        if known is None or known[0] is not technique:
            rules = [self._rule(rule) for rule in technique.rules]
            known = self._rules_of[technique.code] = technique, rules
        return known[1]

    def _rule(self, rule: Rule) -> CatalogueRule:
        """One for all rules that read the same: techniques of a family share most of theirs."""
        words = repr(rule)  # values that are equal may not be the same: True and 1
        if words not in self._rules:
            self._rules[words] = CatalogueRule(rule, self.catalogue)
        return self._rules[words]


def needs_of(case: Case, technique: Technique, techniques: Techniques) -> CaseNeeds:
    """Everything that the case asks for.  Pure; cost: rules × items that they select."""
    plan = _Plan(case, techniques.catalogue)
    implants: dict[Need, dict[str, int]] = {need: {} for need in Need}
    instruments: dict[Need, dict[str, int]] = {need: {} for need in Need}
    notes: list[Reason] = []
    for role, implant in plan.matched.items():
        implants[Need.PLANNED][implant.ref] = case.components[role].quantity
    value_at, told, planned, spare = plan.value, plan.told, Need.PLANNED, Need.SPARE
    for known in techniques.rules_of(technique):
        selected = known.selected(value_at, told)
        plan.questions |= selected.questions
        if not selected.applies:
            continue
        for note in selected.notes:
            if note not in notes:
                notes.append(note)
        need, found, tools = known.rule.need, selected.implants, selected.instruments
        if found:
            _add(implants[need], found, adds_up=need is planned)
        if tools and need is not spare:
            _add(instruments[need], tools, adds_up=False)
        if need is planned and not found and not tools:
            plan.faults.add(f"{known.rule.role}: technique asks for one, catalogue holds none")
    for needs in (implants, instruments):
        certain, contingency = needs[planned], needs[Need.CONTINGENCY]
        for ref in contingency.keys() & certain.keys():
            if contingency[ref] > certain[ref]:
                contingency[ref] -= certain[ref]
            else:
                del contingency[ref]
    sets = tuple([asked for asked in technique.sets if plan.holds(asked.when)])
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


def _add(needs: dict[str, int], more: Mapping[str, int], *, adds_up: bool) -> None:
    """Quantities of both add up, or the larger one counts."""
    if needs.keys().isdisjoint(more):
        needs |= more
    else:
        for ref, quantity in more.items():
            have = needs.get(ref, 0)
            needs[ref] = have + quantity if adds_up else max(have, quantity)
