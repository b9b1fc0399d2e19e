"""How long the steps of a turnaround take here: measured, and proposed for the house's settings.

From the ledger, in opening minutes.  What is proposed is the 90th percentile by nearest rank: nine
trays of ten were as quick.  Never less, and nothing from fewer than twenty trays.  A person
accepts it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F

from deploy.kit.models import Site
from scheduling.coverage.clock import Clock, minute
from scheduling.coverage.values import DEPARTMENT_STAGES
from scheduling.facts_of_site import site_values
from trays.models import TrayMovement
from trays.stages import Stage

PERCENT = 90
LEAST = 20
"""Trays; from fewer no figure is proposed."""

DAYS = 90

STEPS: Mapping[str, tuple[Stage, Stage]] = dict(
    zip(
        DEPARTMENT_STAGES,
        (
            (Stage.CLEANING, Stage.ASSEMBLY),
            (Stage.ASSEMBLY, Stage.PACKED),
            (Stage.STERILISING, Stage.AWAITING_RELEASE),
        ),
        strict=True,
    )
)
"""Step as the house states it → the stage in which it begins, and the one that ends it."""


@dataclass(frozen=True, slots=True)
class StageTime:
    """`proposed` None: too few trays.  Minutes of opening time."""

    stage: str
    trays: int
    median: int | None
    proposed: int | None
    stated: int | None


def percentile(minutes: Sequence[int], percent: int) -> int:
    """By nearest rank: the smallest value that `percent` of 100 do not exceed.  Not of none."""
    ordered = sorted(minutes)
    rank = -(-len(ordered) * percent // 100)  # Rounded up, in whole numbers.
    return ordered[max(rank, 1) - 1]


def stage_times(site: Site, now: datetime) -> list[StageTime]:
    """The steps in their order, from the last 90 days.  Four queries."""
    here = site_values(site, now)
    measured = durations(site, Clock(here), now - timedelta(days=DAYS))
    stated = {stage.name: stage.minutes for stage in here.department}
    return [
        StageTime(
            stage=step,
            trays=len(minutes := measured.get(step, [])),
            median=percentile(minutes, 50) if minutes else None,
            proposed=max(1, percentile(minutes, PERCENT)) if len(minutes) >= LEAST else None,
            stated=stated.get(step),
        )
        for step in STEPS
    ]


def durations(site: Site, clock: Clock, since: datetime) -> dict[str, list[int]]:
    """Opening minutes of every step that a tray went through without a detour.  One query."""
    movements = (
        TrayMovement.objects.filter(tray__site=site, at__gte=since)
        .exclude(move__from_state=F("move__to_state"))
        .order_by("tray_id", "seq")
        .values_list("tray_id", "move__to_state", "at")
    )
    steps = {pair: step for step, pair in STEPS.items()}
    measured: dict[str, list[int]] = defaultdict(list)
    before: tuple[int, str, datetime] | None = None
    for tray, state, at in movements:
        if before is not None and before[0] == tray:
            step = steps.get((Stage(before[1]), Stage(state)))
            if step is not None:
                measured[step].append(clock.open_between(minute(before[2]), minute(at)))
        before = (tray, state, at)
    return measured
