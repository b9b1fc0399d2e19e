"""Which first: the proposed order of work, what each tray's delay would cost, and whom to ring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from deploy.kit.models import Site
from scheduling.coverage.clock import NEVER, Clock, minute, moment
from scheduling.coverage.values import DEPARTMENT_STAGES
from scheduling.coverage.whatif import what_if
from scheduling.queries import Coverage, coverage_now
from scheduling.sterile.on_call import CalledIn, Night, called_in, nights_ahead
from scheduling.sterile.order import FAR, Department, Step, Work, propose
from scheduling.web.arrangement import TrayUse, uses_by_tray
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.losses import Loss, losses
from scheduling.web.views import answer, case_pks
from trays.models import Machine, MachineKind, Tray
from trays.queries import trays_at
from trays.stages import Stage

TO_DO = (Stage.RETURNED_USED, Stage.CLEANING, Stage.ASSEMBLY, Stage.PACKED)
COSTED = 12
"""Trays whose delay is decided anew: each takes a decision of the whole site."""

ASSUMED = {"cleaning": 60, "inspection and assembly": 30}
"""Minutes where the house has stated none; the page says so."""


@dataclass(frozen=True, slots=True)
class First:
    """One line of the proposal.  Moments are local; `late` in opening minutes, None: no case;
    `called_in`: by whom it would be in time that is late."""

    number: int
    tray: str
    tray_pk: int
    stage: str
    case: str
    case_pk: int | None
    theatre: str
    needed_by: datetime | None
    begins: datetime | None
    through: datetime | None
    late: int | None
    load: int
    costs: tuple[Loss, ...]
    called_in: CalledIn | None = None


@dataclass(frozen=True, slots=True)
class House:
    """What the proposal rests on.  `assumed`: the steps for which the house states no minutes."""

    minutes: Mapping[str, int]
    department: Department
    assumed: tuple[str, ...]


@requires("scheduling.read_cases")
@require_safe
def first(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    asked = request.GET.get("people", "")
    people = int(asked) if asked.isdecimal() and 1 <= int(asked) <= 20 else None
    house = house_of(site, coverage, people)
    nights = nights_ahead(site, coverage.report.now)
    lines = proposal(coverage, house, trays_at(site, TO_DO), case_pks(site), nights)
    page = {
        "lines": lines,
        "house": house,
        "late": sum(1 for line in lines if line.late is not None and line.late > 0),
    }
    return answer(request, "sterile/first", coverage, page)


def house_of(site: Site, coverage: Coverage, people: int | None) -> House:
    """What the house has stated, and the machines that are in use, or will be when the department
    goes on: no opening time passes before.  One query."""
    stated = {stage.name: stage for stage in coverage.scenario.site.department}
    minutes = {
        name: stated[name].minutes if name in stated else ASSUMED.get(name, 0)
        for name in DEPARTMENT_STAGES
    }
    bench = stated.get("inspection and assembly")
    machines = Machine.objects.filter(site=site, kind=MachineKind.STERILISER)
    found = list(machines.values_list("places", "cycle_minutes", "down_since", "back_at"))
    goes_on = coverage.scenario.site.halted_until
    sterilisers = tuple(
        (places, minutes)
        for places, minutes, down, back in found
        if down is None or (back is not None and goes_on is not None and back <= goes_on)
    )
    if not found and "sterilising" in stated:
        sterilisers = ((stated["sterilising"].places, stated["sterilising"].minutes),)
    return House(
        minutes,
        Department(people or (bench.places if bench else 1), sterilisers),
        tuple(name for name in ASSUMED if name not in stated),
    )


def proposal(
    coverage: Coverage,
    house: House,
    trays: Sequence[Tray],
    pks: Mapping[str, int],
    nights: Sequence[Night] = (),
) -> list[First]:
    """The trays in the proposed order.  No query; a decision for each of the first that a case
    waits for."""
    clock = Clock(coverage.scenario.site)
    uses = uses_by_tray(coverage.report)
    work = [_work(clock, house, tray, uses.get(tray.code, ())) for tray in trays]
    by_code = {tray.code: tray for tray in trays}
    lines = []
    for number, step in enumerate(propose(work, house.department), start=1):
        use = next(iter(uses.get(step.work.tray, ())), None)
        costs = _costs(coverage, step.work.tray, use, pks) if use and number <= COSTED else ()
        tray = by_code[step.work.tray]
        line = _line(coverage, clock, number, step, tray, use, pks, costs)
        if use and line.late is not None and line.late > 0:
            rung = called_in(coverage.scenario.site, nights, step.through, use.needed_by)
            line = replace(line, called_in=rung)
        lines.append(line)
    return lines


def _work(clock: Clock, house: House, tray: Tray, uses: Sequence[TrayUse]) -> Work:
    cleaning, bench, sterilising = (house.minutes[name] for name in DEPARTMENT_STAGES)
    arrives = cleaning if tray.stage in (Stage.RETURNED_USED, Stage.CLEANING) else 0
    if tray.stage == Stage.CLEANING:
        since = minute(tray.since)  # type: ignore[attr-defined]
        arrives = max(0, cleaning - clock.open_between(since, clock.now))
    due = clock.open_between(clock.now, minute(uses[0].needed_by)) if uses else FAR
    whole = tray.configuration.turnaround_minutes
    after = max(0, whole - cleaning - bench - sterilising) if sterilising else 0
    return Work(tray.code, arrives, 0 if tray.stage == Stage.PACKED else bench, due, after)


def _line(
    coverage: Coverage,
    clock: Clock,
    number: int,
    step: Step,
    tray: Tray,
    use: TrayUse | None,
    pks: Mapping[str, int],
    costs: tuple[Loss, ...],
) -> First:
    def local(minutes: int) -> datetime | None:
        at = clock.after(clock.now, minutes) if minutes < FAR else NEVER
        return None if at >= NEVER else clock.local(moment(at))

    case = coverage.scenario.cases[use.case] if use else None
    return First(
        number=number,
        tray=tray.code,
        tray_pk=tray.pk,
        stage=tray.stage,
        case=use.case if use else "",
        case_pk=pks.get(use.case) if use else None,
        theatre=case.theatre if case else "",
        needed_by=clock.local(use.needed_by) if use else None,
        begins=local(step.begins) if step.work.bench else None,
        through=local(step.through),
        late=step.late if use and step.through < FAR else None,
        load=step.load,
        costs=costs,
    )


def _costs(coverage: Coverage, code: str, use: TrayUse, pks: Mapping[str, int]) -> tuple[Loss, ...]:
    """The cases that come off worse if the tray is ready a minute after its case needs it."""
    scenario = coverage.scenario
    late = replace(scenario.trays[code], ready=use.needed_by + timedelta(minutes=1))
    changed = what_if(coverage.decision, replace(scenario, trays={**scenario.trays, code: late}))
    return losses(scenario, changed, pks)
