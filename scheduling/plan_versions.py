"""A case's plans as they are kept, read back into values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Protocol

from scheduling.coverage.scenario_fields import Entry
from scheduling.coverage.scenario_json import ScenarioFaults
from scheduling.coverage.scenario_read_case import read_components, read_facts
from scheduling.coverage.values import Component
from scheduling.facts import exactly
from scheduling.models import Case, PlanVersion, Technique
from scheduling.plans.asked import Stated
from scheduling.plans.difference import PlanSaid, plan_difference
from scheduling.plans.form import given_of
from scheduling.plans.windows import read_windows


class Kept(Protocol):
    """A row that holds a plan or the defaults of one."""

    technique: Technique
    components: object
    facts: object
    windows: object


@dataclass(frozen=True, slots=True)
class VersionSaid:
    """One version and what it changed against the one before; `made_at` is local."""

    plan: PlanVersion
    made_at: datetime
    by: str
    changes: tuple[str, ...]


def plan_said(kept: Kept, note: str = "") -> PlanSaid:
    """ScenarioFaults where a row breaks the format."""
    faults: list[str] = []
    components: dict[str, Component] = read_components(
        Entry(exactly(kept.components), "components", faults, None)
    )
    facts: dict[str, Stated] = read_facts(Entry(exactly(kept.facts), "facts", faults, None))
    windows = read_windows(kept.windows, "windows", faults)
    if faults:
        raise ScenarioFaults(faults)
    return PlanSaid(str(kept.technique), components, facts, windows, note)


def given_of_plan(kept: Kept, note: str = "") -> dict[str, str]:
    """As the plan form sends it."""
    said = plan_said(kept, note)
    return given_of(said.components, said.facts, said.windows, said.note)


def versions_of(case: Case) -> tuple[VersionSaid, ...]:
    """Every version, the newest first.  One query."""
    plans = list(case.plans.select_related("technique", "made_by").order_by("number"))
    changes: list[tuple[str, ...]] = [()] * min(1, len(plans))
    changes += _changes(plan_said(plan, plan.note) for plan in plans)
    return tuple(
        VersionSaid(
            plan,
            case.site.local(plan.made_at),
            plan.made_by.get_full_name() or plan.made_by.get_username() if plan.made_by else "",
            changed,
        )
        for plan, changed in zip(reversed(plans), reversed(changes), strict=True)
    )


def _changes(said: Iterable[PlanSaid]) -> list[tuple[str, ...]]:
    return [plan_difference(old, new) for old, new in pairwise(said)]
