"""The plan form of one case: from what is kept or was sent, to fields and to what it would do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from django.http import QueryDict

from deploy.kit.models import Site
from scheduling.coverage.values import Technique
from scheduling.models import Case, PlanVersion, Window
from scheduling.models import Technique as TechniqueRow
from scheduling.plan_versions import given_of_plan
from scheduling.plans.form import PlanForm, plan_form
from scheduling.plans.windows import with_windows
from scheduling.queries import Coverage
from scheduling.what_then import WhatThen, what_then

SENT = ("part:", "pieces:", "fact:", "other:", "window:", "note", "also")
LONGEST = 2500
EARLIER_PLANS = 500
"""How many of the newest plans are asked for the answers that the house gives."""


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """`in_force`: the number of the plan that it would replace, 0 for none."""

    case: Case
    technique: TechniqueRow
    techniques: tuple[TechniqueRow, ...]
    form: PlanForm
    in_force: int
    window: Window | None
    confirmed: frozenset[str]
    more_roles: tuple[str, ...]

    @property
    def asked_to_confirm(self) -> tuple[tuple[str, bool], ...]:
        """Each answer that the technique asks for, and whether it is ticked."""
        return tuple((code, code in self.confirmed) for code in self.form.confirmations())

    def given_confirmations(self) -> tuple[str, ...]:
        return tuple(code for code, ticked in self.asked_to_confirm if ticked)


def sent_texts(data: QueryDict) -> dict[str, str]:
    """The form's own fields; bounded, and without what a database does not take."""
    return {
        name.replace("\0", ""): (data.get(name) or "").replace("\0", "")[:LONGEST]
        for name in data
        if name.startswith(SENT)
    }


def without_leftovers(given: Mapping[str, str], roles: Collection[str]) -> dict[str, str]:
    """After another technique was chosen: only the components that this one asks for."""
    return {
        name: text
        for name, text in given.items()
        if not name.startswith(("part:", "pieces:")) or name.split(":")[1] in roles
    }


def draft_of(
    case: Case,
    coverage: Coverage,
    given: Mapping[str, str],
    *,
    technique: TechniqueRow,
    techniques: tuple[TechniqueRow, ...],
    in_force: int,
    window: Window | None = None,
    confirmed: Collection[str] = (),
) -> PlanDraft:
    """One query: the answers that earlier plans gave."""
    scenario = coverage.scenario
    form = plan_form(
        scenario.techniques[technique.code],
        scenario.implants.values(),
        given,
        side=case.side,
        heard=answers_heard(case.site),
    )
    shown = {part.role for part in form.components}
    return PlanDraft(
        case=case,
        technique=technique,
        techniques=techniques,
        form=form,
        in_force=in_force,
        window=window,
        confirmed=frozenset(confirmed),
        more_roles=tuple(sorted({one.role for one in scenario.implants.values()} - shown)),
    )


def answers_heard(site: Site) -> dict[str, list[str]]:
    """Fact → the words that the newest plans of the site state for it.  One query."""
    newest = PlanVersion.objects.filter(case__site=site).order_by("-pk")
    heard: dict[str, set[str]] = defaultdict(set)
    for facts in newest.values_list("facts", flat=True)[:EARLIER_PLANS]:
        for name, value in facts.items():
            if isinstance(value, str):
                heard[name].add(value)
    return {name: sorted(values) for name, values in heard.items()}


def begun_with(plan: PlanVersion | None, window: Window | None) -> dict[str, str]:
    """What the form begins with: a window that was asked for, else the plan, else nothing."""
    if window is not None:
        return given_of_plan(window, plan.note if plan else "")
    return given_of_plan(plan, plan.note) if plan else {}


def plan_then(coverage: Coverage, draft: PlanDraft) -> WhatThen:
    """What the draft would do if it were saved.  No query."""
    scenario = coverage.scenario
    technique: Technique = with_windows(draft.form.technique, draft.form.changed_windows())
    case = replace(
        scenario.cases[draft.case.ref],
        technique=technique.code,
        components=draft.form.planned(),
        facts=draft.form.stated(),
        confirmed=frozenset(draft.given_confirmations()),
    )
    return what_then(
        coverage,
        replace(
            scenario,
            techniques={**scenario.techniques, technique.code: technique},
            cases={**scenario.cases, case.ref: case},
        ),
    )
