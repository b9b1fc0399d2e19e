"""When a tray in the cycle will be sterile and released: a rule on values.

A forecast is the moment at which a stage was begun plus what is left of the turnaround, in opening
minutes.  What a stage takes off the turnaround is what the house has stated for it; where it has
stated nothing, a stage takes nothing off, and an earlier forecast that is still ahead is kept.  A
forecast that has passed is no forecast: a tray that is not in the sterile store is never ready.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from deploy.kit.models import Site
from scheduling.coverage.clock import NEVER, Clock, minute, moment
from scheduling.coverage.values import DEPARTMENT_STAGES, DepartmentStage
from scheduling.facts_of_site import site_values, transport_minutes
from scheduling.tray_uses import FOR_EVER
from trays.forecast import Forecast
from trays.models import Tray
from trays.stages import STAGES, Stage

DONE_BEFORE: Mapping[Stage, int] = {
    Stage.RETURNED_USED: 0,
    Stage.CLEANING: 0,
    Stage.ASSEMBLY: 1,
    Stage.PACKED: 2,
    Stage.STERILISING: 2,
    Stage.AWAITING_RELEASE: 3,
}
"""How many of the steps lie behind a tray that comes to the stage; none for one in theatre."""


def minutes_left(
    stage: Stage, turnaround: int, department: Iterable[DepartmentStage], transport: int = 0
) -> int:
    """What is left of the turnaround, in opening minutes, for a tray that comes to the stage now.

    Never less than what the house states for the steps that are ahead; 0 in the store.
    `transport`: one way to a department elsewhere; what has come back to theatre's door has both
    ways ahead, what has arrived there the way back.
    """
    if STAGES[stage].readiness == "ready":
        return 0
    stated = {one.name: one.minutes for one in department}
    done = DONE_BEFORE.get(stage, 0)
    behind = sum(stated.get(step, 0) for step in DEPARTMENT_STAGES[:done])
    ahead = sum(stated.get(step, 0) for step in DEPARTMENT_STAGES[done:])
    ways = 1 if begun(stage) else 2
    return max(turnaround - behind, ahead) + ways * transport


def begun(stage: Stage) -> bool:
    """It has arrived in the department."""
    return stage in DONE_BEFORE and stage is not Stage.RETURNED_USED


def ready_when(
    clock: Clock,
    stage: Stage,
    turnaround: int,
    earlier: datetime | None = None,
    transport: int = 0,
) -> datetime:
    """When a tray that comes to the stage at the clock's now is through.

    `earlier`: the forecast so far; it is kept where the house states nothing of how long the
    steps take, and it still lies ahead.
    """
    left = minutes_left(stage, turnaround, clock.site.department, transport)
    is_ahead = earlier is not None and minute(earlier) > clock.now
    if begun(stage) and not clock.site.department and earlier is not None and is_ahead:
        return earlier
    at = clock.after(clock.now, left)
    return FOR_EVER if at >= NEVER else moment(at)


def forecast_at(site: Site, now: datetime) -> Forecast:
    """The forecast of a site's trays at `now`.  Four queries, and none for a tray whose
    configuration is at hand."""
    clock = Clock(site_values(site, now))
    transport = transport_minutes(site)

    def forecast(tray: Tray, stage: Stage) -> datetime:
        turnaround = tray.configuration.turnaround_minutes
        return ready_when(clock, stage, turnaround, tray.ready_at, transport)

    return forecast
