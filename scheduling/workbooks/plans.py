"""The plans of booked cases as a workbook: technique, components, facts.

A plan is what its rows say; one that says something else than the version in force is written as
the case's next version.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, cast

from deploy.kit.attributes import ATTRIBUTES
from deploy.kit.catalogue import exact
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Difference, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.attributes import ATTRIBUTE_COLUMNS, attributes_said, attributes_shown
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet, Value
from scheduling.models import Case, CaseStatus, PlanVersion, Technique
from scheduling.operations.plans import write_plan
from scheduling.techniques.words import read_fact, say_fact

OF_CASE = Column("Case", Kind.CODE, key=True, most=64)
PLANS = SheetSpec(
    "Plans", (OF_CASE, Column("Technique", Kind.CODE, required=True, most=64)), once=("Case",)
)
COMPONENTS = SheetSpec(
    "Components",
    (
        OF_CASE,
        Column("Role", key=True, most=64, note="stem, head, shell, liner, …"),
        Column("REF", Kind.CODE, most=64, note="Or as many attributes as name one item."),
        Column("Quantity", Kind.WHOLE, note="Empty is 1."),
        *ATTRIBUTE_COLUMNS,
    ),
    once=("Case", "Role"),
    may_be_empty=True,
)
FACTS = SheetSpec(
    "Facts",
    (
        OF_CASE,
        Column("Fact", key=True, most=64, note="approach, cup_fixation, …", example="approach"),
        Column("Value", required=True, note='A word, a number, yes or no; a text in "quotes".'),
    ),
    once=("Case", "Fact"),
    may_be_empty=True,
)
Components = dict[str, dict[str, Any]]
Facts = dict[str, Any]


class Plans:
    spec = WorkbookSpec("plans", (PLANS, COMPONENTS, FACTS))
    title = "Plans"
    about = "What is planned for each booked case. The surgeon confirms; a workbook does not."
    permission = "scheduling.book_case"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Three queries."""
        cases = {one.ref: one for one in Case.objects.filter(site=site)}
        techniques = {one.code: one for one in Technique.objects.filter(site=site)}
        there = _in_force(site)
        planned = {*sheets[PLANS.name].named("Case")}
        components: dict[str, Components] = defaultdict(dict)
        facts: dict[str, Facts] = defaultdict(dict)
        parts: list[RowResult] = []
        for row in sheets[COMPONENTS.name].rows:
            parts.append(_judged_component(row, planned, there, components))
        for row in sheets[FACTS.name].rows:
            parts.append(_judged_fact(row, planned, there, facts))
        heads = [
            _judged(row, cases, techniques, there, components, facts)
            for row in sheets[PLANS.name].rows
        ]
        return Comparison((*heads, *parts))

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        for row in comparison.of(PLANS.name, Outcome.NEW, Outcome.CHANGED):
            case, technique, components, facts = row.act
            write_plan(
                case=case, technique=technique, components=components, facts=facts, by=by, now=now
            )

    def rows(self, site: Site) -> Rows:
        there = _in_force(site)
        return {
            PLANS.name: (
                {"Case": ref, "Technique": plan.technique.code} for ref, plan in there.items()
            ),
            COMPONENTS.name: _shown_components(there),
            FACTS.name: (
                {"Case": ref, "Fact": name, "Value": say_fact(exact(value))}
                for ref, plan in there.items()
                for name, value in sorted(plan.facts.items())
            ),
        }


def _in_force(site: Site) -> dict[str, PlanVersion]:
    """Case → its plan in force, of cases that are booked.  One query."""
    plans = PlanVersion.objects.filter(
        case__site=site, case__status=CaseStatus.BOOKED
    ).select_related("case", "technique")
    return {plan.case.ref: plan for plan in plans.order_by("case__start", "case__ref", "number")}


def _judged(
    row: Row,
    cases: Mapping[str, Case],
    techniques: Mapping[str, Technique],
    there: Mapping[str, PlanVersion],
    components: Mapping[str, Components],
    facts: Mapping[str, Facts],
) -> RowResult:
    ref, code = str(row.values["Case"]), str(row.values["Technique"])
    case, technique, before = cases.get(ref), techniques.get(code), there.get(ref)
    reasons = []
    if case is None:
        reasons.append(f"Case: {ref} is not booked. Import the case list first.")
    elif case.status != CaseStatus.BOOKED:
        reasons.append(f"Case: {ref} is {case.status}. Only a booked case is planned.")
    if technique is None:
        reasons.append(f"Technique: there is no {code}. Import the techniques first.")
    act = (case, technique, components.get(ref, {}), facts.get(ref, {}))
    what = f"plan of case {ref}"
    if reasons:
        return RowResult(PLANS.name, row.number, what, Outcome.REFUSED, (), tuple(reasons), act)
    if before is None:
        return RowResult(PLANS.name, row.number, what, Outcome.NEW, act=act)
    changes = [
        Difference(name, str(old), str(new))
        for name, old, new in (
            ("Technique", before.technique.code, code),
            *_part_changes("Components", before.components, act[2]),
            *_part_changes("Facts", before.facts, act[3]),
        )
        if old != new
    ]
    outcome = Outcome.CHANGED if changes else Outcome.SAME
    return RowResult(PLANS.name, row.number, what, outcome, tuple(changes), act=act)


def _part_changes(
    name: str, before: Mapping[str, Any], after: Mapping[str, Any]
) -> list[tuple[str, str, str]]:
    """What differs, by role or fact."""
    if before == after:
        return []
    gone = sorted(set(before) - set(after))
    changed = sorted(key for key in after if before.get(key) != after[key])
    return [
        *((f"{name}: {key}", "there", "left out") for key in gone),
        *((f"{name}: {key}", _in_words(before.get(key)), _in_words(after[key])) for key in changed),
    ]


def _in_words(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{_label(key)} {one}" for key, one in sorted(value.items()))
    return "" if value is None else say_fact(exact(value))


def _label(key: str) -> str:
    return ATTRIBUTES[key].label if key in ATTRIBUTES else key


def _judged_component(
    row: Row,
    planned: set[str],
    there: Mapping[str, PlanVersion],
    components: dict[str, Components],
) -> RowResult:
    ref, role = str(row.values["Case"]), str(row.values["Role"])
    reasons = _not_planned(ref, planned)
    stated: dict[str, Any] = attributes_said(row.values, {})
    if "REF" in row.values:
        stated["ref"] = str(row.values["REF"])
    quantity = cast(int, row.values.get("Quantity", 1))
    if quantity < 1:
        reasons.append("Quantity: 1 or more.")
    if not stated:
        reasons.append("REF: name the item by its REF or by its attributes.")
    if quantity != 1:
        stated["quantity"] = quantity
    components[ref][role] = stated
    before = there[ref].components.get(role) if ref in there else None
    return _part(COMPONENTS, row, f"case {ref}: {role}", before, stated, reasons)


def _judged_fact(
    row: Row, planned: set[str], there: Mapping[str, PlanVersion], facts: dict[str, Facts]
) -> RowResult:
    ref, name = str(row.values["Case"]), str(row.values["Fact"])
    reasons = _not_planned(ref, planned)
    value: Any = None
    try:
        value = read_fact(str(row.values["Value"]))
    except ValueError as fault:
        reasons.append(f"Value: {fault}")
    facts[ref][name] = value
    before = there[ref].facts.get(name) if ref in there else None
    return _part(FACTS, row, f"case {ref}: {name}", before, value, reasons)


def _not_planned(ref: str, planned: set[str]) -> list[str]:
    if ref in planned:
        return []
    return [f"Case: {ref} is not on the sheet {PLANS.name}. Add it there with its technique."]


def _part(
    sheet: SheetSpec, row: Row, what: str, before: Any, after: Any, reasons: list[str]
) -> RowResult:
    if reasons:
        return RowResult(sheet.name, row.number, what, Outcome.REFUSED, (), tuple(reasons))
    if before is None:
        return RowResult(sheet.name, row.number, what, Outcome.NEW)
    if before == after:
        return RowResult(sheet.name, row.number, what, Outcome.SAME)
    change = Difference("", _in_words(before), _in_words(after))
    return RowResult(sheet.name, row.number, what, Outcome.CHANGED, (change,))


def _shown_components(there: Mapping[str, PlanVersion]) -> Iterator[Mapping[str, Value | None]]:
    for ref, plan in there.items():
        for role, stated in sorted(plan.components.items()):
            attributes = {key: exact(value) for key, value in stated.items()}
            yield {
                "Case": ref,
                "Role": role,
                "REF": stated.get("ref"),
                "Quantity": stated.get("quantity"),
                **attributes_shown(attributes),
            }
