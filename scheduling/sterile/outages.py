"""What machines that are out of use do to the forecasts: a rule on values, and what it reads.

Some of a kind are out of use: that step takes so many trays fewer at once.  All of a kind are: what
has still to go through it waits until one is back, and where nobody has said when that is, nothing
comes through at all.  A person who brings a machine back brings the forecasts back with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Q

from deploy.kit.models import Site
from scheduling.coverage import values
from scheduling.coverage.clock import NEVER, Clock, minute, moment
from scheduling.coverage.values import DEPARTMENT_STAGES, DepartmentStage
from scheduling.facts_of_trays import IN_USE
from scheduling.sterile.forecast import DONE_BEFORE, minutes_left
from scheduling.tray_uses import FOR_EVER
from trays.models import LoadState, Machine, MachineKind, Pack, Tray
from trays.stages import Stage

STEP_OF: Mapping[str, str] = {
    MachineKind.WASHER: "cleaning",
    MachineKind.STERILISER: "sterilising",
}
"""Kind of machine → the step of the department that it does."""

BEFORE: Mapping[str, Stage] = {"cleaning": Stage.RETURNED_USED, "sterilising": Stage.PACKED}
"""Step → the stage of a tray that waits for it."""


@dataclass(frozen=True, slots=True)
class MachineState:
    """`back_at`: when it should be back; None where it is in use, or nobody has said."""

    kind: str
    places: int
    cycle_minutes: int
    is_down: bool
    back_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Halt:
    """A step for which no machine is in use.  `until`: None, where nobody knows."""

    step: str
    until: datetime | None


def halts(machines: Sequence[MachineState], now: datetime) -> tuple[Halt, ...]:
    """The steps that stand still, in order.  A machine that should have been back and is not: then
    nobody knows when."""
    found = []
    for kind, step in STEP_OF.items():
        of_kind = [one for one in machines if one.kind == kind]
        if not of_kind or not all(one.is_down for one in of_kind):
            continue
        said = [one.back_at for one in of_kind if one.back_at is not None and one.back_at > now]
        found.append(Halt(step, min(said, default=None)))
    return tuple(sorted(found, key=lambda halt: DEPARTMENT_STAGES.index(halt.step)))


def department_left(
    stated: Iterable[DepartmentStage], machines: Sequence[MachineState], now: datetime
) -> tuple[DepartmentStage, ...]:
    """The steps with the places that are left, and with those that are back later.  A step that the
    house states nothing of gets the machines' own figures as soon as one of them is out of use.  A
    step that stands still keeps one place: its `Halt` says the rest."""
    stages = {stage.name: stage for stage in stated}
    for kind, step in STEP_OF.items():
        of_kind = [one for one in machines if one.kind == kind]
        down = [one for one in of_kind if one.is_down]
        if not down:
            continue
        known = [one for one in down if one.back_at is not None and one.back_at > now]
        lost = sum(one.places for one in down if one not in known)
        left = [one for one in of_kind if not one.is_down] or of_kind
        own = DepartmentStage(
            step,
            sum(one.places for one in of_kind),
            max(one.cycle_minutes for one in left),
        )
        before = stages.get(step, own)
        places = max(1, before.places - lost)
        back = sorted(one.back_at for one in known for _ in range(one.places) if one.back_at)
        stages[step] = replace(before, places=places, out_until=tuple(back[-places:]))
    return tuple(stages[name] for name in DEPARTMENT_STAGES if name in stages)


def under_outages(
    scenario: values.Scenario, machines: Sequence[MachineState], waiting: Mapping[str, int]
) -> values.Scenario:
    """The scenario as it is with the machines that are left.

    `waiting`: as `waiting_at` has it.  Where it is known when a step goes on, no opening time
    passes until then: what comes back meanwhile begins then, which may be too late for it and is
    never too early, and what comes back later is as it was.  Where nobody knows, nothing is ever
    made ready.
    """
    here = scenario.site
    left = replace(here, department=department_left(here.department, machines, here.now))
    standing = halts(machines, here.now)
    clock = Clock(here)
    ends = [minute(halt.until) for halt in standing if halt.until is not None]
    is_known = len(ends) == len(standing)
    goes_on = max(ends, default=clock.now) if is_known else NEVER
    trays = dict(scenario.trays)
    for code, minutes in waiting.items():
        tray, through = trays[code], clock.after(goes_on, minutes)
        if tray.ready is not None:
            at = FOR_EVER if through >= NEVER else moment(through)
            trays[code] = replace(tray, ready=max(tray.ready, at))
    if not is_known:
        left = replace(left, opening={})
    elif ends:
        left = replace(left, halted_until=moment(goes_on))
    return replace(scenario, site=left, trays=trays)


def machine_states(site: Site) -> list[MachineState]:
    """The washers and sterilisers.  One query."""
    return [
        MachineState(kind, places, minutes, since is not None, back_at if since else None)
        for kind, places, minutes, since, back_at in Machine.objects.filter(site=site).values_list(
            "kind", "places", "cycle_minutes", "down_since", "back_at"
        )
    ]


def waiting_at(
    site: Site,
    machines: Sequence[MachineState],
    now: datetime,
    department: Sequence[DepartmentStage],
    transport: int,
    going_on: Iterable[str] = (),
) -> dict[str, int]:
    """Tray → the opening minutes that it takes once it can go on: for those that have a step that
    stands still before them, and for those inside a machine that broke, which go through it again.

    `going_on`: the booked and started cases; what another case has used comes back as soon as can
    be.  Two queries.
    """
    standing = [DEPARTMENT_STAGES.index(halt.step) for halt in halts(machines, now)]
    broken = Machine.objects.filter(site=site, down_since__isnull=False)
    inside = set(
        Pack.objects.filter(
            last_seq=None, load__state=LoadState.RUNNING, load__machine__in=broken
        ).values_list("tray_id", flat=True)
    )
    waiting = {}
    used = Q(stage__in=IN_USE, case_ref__gt="") & ~Q(case_ref__in=list(going_on))
    on_its_way = Tray.objects.filter(
        Q(stage__in=DONE_BEFORE) | used | Q(stage=Stage.IN_THEATRE, case_ref=""), site=site
    )
    for tray in on_its_way.select_related("configuration"):
        done = DONE_BEFORE.get(Stage(tray.stage), 0)
        ahead = (
            [*standing, DEPARTMENT_STAGES.index("sterilising")] if tray.pk in inside else standing
        )
        if tray.stage == Stage.STERILISING and tray.pk not in inside:
            done += 1
        first = min((step for step in ahead if step >= done), default=None)
        if first is not None:
            turnaround = tray.configuration.turnaround_minutes
            before = BEFORE[DEPARTMENT_STAGES[first]]
            waiting[tray.code] = minutes_left(before, turnaround, department, transport)
    return waiting
