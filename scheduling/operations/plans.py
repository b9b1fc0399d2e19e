"""Write a version of a case's plan, and give the confirmations that its technique asks for.

A plan is added, never edited; the highest number is in force.  A confirmation belongs to one
version: a new plan asks again.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from deploy.kit.models import Person
from scheduling.coverage.scenario_fields import Entry
from scheduling.coverage.scenario_read_case import read_components, read_facts
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, ConfirmationGiven, PlanVersion, Technique, Window
from scheduling.operations.locks import locked_open_case
from scheduling.plans.windows import Steps, read_windows


@transaction.atomic
def write_plan(
    *,
    case: Case,
    technique: Technique,
    components: Mapping[str, Any],
    facts: Mapping[str, Any],
    by: Person,
    now: datetime,
    windows: Mapping[str, Steps] | None = None,
    window: Window | None = None,
    note: str = "",
    replaces: int | None = None,
    confirmed: Collection[str] = (),
) -> PlanVersion:
    """Add the next version of the plan.

    `components` {role: {attributes, quantity?}} and `facts` {name: value} in the scenario
    format; `windows` {ladder: (below, above)}.  Whether the catalogue holds what is named is for
    the cover check: a plan may be written before the implant is.  `replaces`: the number of the
    version that the person had before them, 0 for none; not checked where it is left out.
    `confirmed`: confirmations of the technique that the person gives with it.

    NotUsable (plan_invalid) with all faults and their places; Refused (case_is_over,
    plan_changed_meanwhile, confirmation_not_asked).
    """
    case = locked_open_case(case)
    faults = plan_faults(components, facts, windows or {})
    if technique.site_id != case.site_id:
        faults.insert(0, "technique: of another site")
    if window is not None and window.surgeon_id != case.surgeon_id:
        faults.append("window: of another surgeon")
    if faults:
        raise NotUsable("plan_invalid", faults)
    last = case.plans.order_by("-number").first()
    in_force = last.number if last else 0
    if replaces is not None and replaces != in_force:
        raise Refused("plan_changed_meanwhile", case=case.ref, in_force=in_force)
    plan = PlanVersion.objects.create(
        case=case,
        number=in_force + 1,
        technique=technique,
        components=stored(components),
        facts=stored(facts),
        windows=stored(windows or {}),
        window=window,
        note=note.strip(),
        made_at=now,
        made_by=by.user,
    )
    for code in confirmed:
        confirm(plan=plan, code=code, by=by, now=now)
    return plan


def plan_faults(
    components: Mapping[str, Any], facts: Mapping[str, Any], windows: Mapping[str, Any]
) -> list[str]:
    """All that breaks the format of a plan, with its place."""
    faults: list[str] = []
    read_components(Entry(_exact(components), "components", faults, None))
    read_facts(Entry(_exact(facts), "facts", faults, None))
    read_windows(windows, "windows", faults)
    return faults


@transaction.atomic
def confirm(*, plan: PlanVersion, code: str, by: Person, now: datetime) -> ConfirmationGiven:
    """Give one confirmation for the version of the plan that the person has before them.

    The same again is harmless.  Refused: plan_not_in_force, confirmation_not_asked,
    case_is_over.
    """
    case = locked_open_case(plan.case)
    in_force = case.plans.order_by("-number").select_related("technique")[0]
    if in_force.pk != plan.pk:
        raise Refused(
            "plan_not_in_force", plan=plan.number, case=case.ref, in_force=in_force.number
        )
    technique = in_force.technique
    if not technique.confirmations.filter(code=code).exists():
        raise Refused("confirmation_not_asked", technique=str(technique), asked=code)
    given, _ = ConfirmationGiven.objects.get_or_create(
        plan=in_force, code=code, defaults={"at": now, "by": by.user}
    )
    return given


def _exact(value: Mapping[str, Any]) -> Any:
    """Plain JSON with decimals exact, as the readers of the format want it."""
    return json.loads(json.dumps(value, default=float), parse_float=Decimal)


def stored(value: Mapping[str, Any]) -> Any:
    """As the JSON column keeps it."""
    return json.loads(json.dumps(value, default=float))
