"""The load of sterile services: what happens when more falls due together than it can take.

A turnaround is what one tray takes when nothing is in its way.  Where the house has stated how many
trays each stage can take at once (washers, benches, steriliser places) and how long a stage takes,
the trays that come back are sent through the stages in a simulation: at every stage the tray that
is needed first goes first, nothing is interrupted, and only opening time counts.  What a tray waits
is added to its turnaround.  A case that would then not have its tray in time is at risk, and says
so.

The arrangement of trays is not changed: the load is a warning about it, not another right to a
tray.  A steriliser load counts as that many places, each starting when it is free.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scheduling.coverage.clock import NEVER, Clock, Minute, minute, moment
from scheduling.coverage.report import Line, Reason, SetLine, Status
from scheduling.coverage.tray_group import Fleet, TrayCase, TrayFacts
from scheduling.coverage.tray_outcome import TrayOutcome
from scheduling.coverage.values import DepartmentStage

NONE_OUT: Mapping[str, Sequence[int]] = {}


@dataclass(frozen=True, slots=True)
class Job:
    """One tray to be made ready: it comes at `arrives` and is needed by `due` (opening minutes
    since a common beginning; NEVER where nothing waits for it)."""

    tray: str
    arrives: int
    due: int


@dataclass(frozen=True, slots=True)
class Waits:
    """Opening minutes that a job waits in all, and the stage at which it waits longest."""

    minutes: int = 0
    stage: str = ""


def simulate(
    jobs: Sequence[Job],
    stages: Sequence[DepartmentStage],
    out: Mapping[str, Sequence[int]] = NONE_OUT,
) -> list[Waits]:
    """What each job waits on its way through the stages, in the order of `jobs`.  `out`: stage →
    for each of its places that is out of use, when it is back (as a job's `arrives`)."""
    arrivals = [job.arrives for job in jobs]
    waited = [0] * len(jobs)
    longest = [Waits()] * len(jobs)
    for stage in stages:
        starts = _starts(jobs, arrivals, stage, out.get(stage.name, ()))
        for number, start in enumerate(starts):
            wait = start - arrivals[number]
            waited[number] += wait
            if wait > longest[number].minutes:
                longest[number] = Waits(wait, stage.name)
            arrivals[number] = start + stage.minutes
    return [Waits(total, long.stage) for total, long in zip(waited, longest, strict=True)]


def _starts(
    jobs: Sequence[Job], arrivals: Sequence[int], stage: DepartmentStage, out: Sequence[int]
) -> list[int]:
    """When each job begins at one stage: whenever a place is free, the job due first."""
    coming = sorted(range(len(jobs)), key=lambda n: (arrivals[n], jobs[n].due, jobs[n].tray))
    # When each place is free; sorted, so that it is a heap.
    places = [*[-NEVER] * (stage.places - len(out)), *sorted(out)]
    waiting: list[tuple[int, str, int]] = []
    starts = [0] * len(jobs)
    position = 0
    while position < len(coming) or waiting:
        free_at = places[0]
        if not waiting:
            free_at = max(free_at, arrivals[coming[position]])
        while position < len(coming) and arrivals[coming[position]] <= free_at:
            number = coming[position]
            heapq.heappush(waiting, (jobs[number].due, jobs[number].tray, number))
            position += 1
        _, _, number = heapq.heappop(waiting)
        starts[number] = max(places[0], arrivals[number])
        heapq.heapreplace(places, starts[number] + stage.minutes)
    return starts


@dataclass(slots=True)
class _Use:
    """One use of a tray in the arrangement, after what makes the tray free for it."""

    case: TrayCase
    status: Status
    job: Job | None = None
    comes: Minute = 0


@dataclass(frozen=True, slots=True)
class _Late:
    """A tray that the load makes late for a case."""

    tray: str
    reason: Reason


@dataclass(slots=True)
class _Pending:
    """`begin`: from when opening minutes are counted."""

    begin: Minute
    jobs: list[Job] = field(default_factory=list)
    uses: list[_Use | None] = field(default_factory=list)


def under_load(
    clock: Clock, fleet: Fleet, cases: Sequence[TrayCase], trays: Mapping[str, TrayOutcome]
) -> dict[str, TrayOutcome]:
    """The outcomes with what the load of the department makes of them; unchanged where the
    house states no stages.  `cases` in time order."""
    stages = clock.site.department
    outcomes = dict(trays)
    if not stages or not cases:
        return outcomes
    pending = _pending(clock, fleet, cases, trays)
    late: dict[str, list[_Late]] = defaultdict(list)
    out = {
        stage.name: [clock.open_between(pending.begin, minute(until)) for until in stage.out_until]
        for stage in stages
    }
    waits = simulate(pending.jobs, stages, out)
    for use, job, wait in zip(pending.uses, pending.jobs, waits, strict=True):
        if use is None or not wait.minutes:
            continue
        found = _late(clock, fleet.facts[job.tray], use, wait)
        if found is not None:
            late[use.case.case.ref].append(found)
    for ref, found_late in late.items():
        outcomes[ref] = _downgraded(outcomes[ref], found_late, fleet)
    return outcomes


def _pending(
    clock: Clock, fleet: Fleet, cases: Sequence[TrayCase], trays: Mapping[str, TrayOutcome]
) -> _Pending:
    """Everything that comes to the department, and the use that waits for it."""
    uses: dict[str, list[_Use]] = defaultdict(list)
    for asking in cases:
        outcome = trays[asking.case.ref]
        for line in outcome.sets:
            for code in line.trays:
                uses[code].append(_Use(asking, line.status))
        for code in outcome.packs:
            uses[code].append(_Use(asking, Status.HELD))
    begin = min(clock.now, *(asking.out for asking in cases))
    pending = _Pending(begin)

    def send(code: str, comes: Minute, use: _Use | None) -> None:
        if use is not None:
            use.comes = comes
        due = NEVER if use is None else clock.open_between(begin, use.case.needed_by)
        pending.jobs.append(Job(code, clock.open_between(begin, comes), due))
        pending.uses.append(use)

    for code in sorted(uses):
        facts, first = fleet.facts[code], uses[code][0]
        comes = _comes_first(clock, facts, first)
        if comes is not None:
            send(code, comes, first)
        for use, following in zip(uses[code], [*uses[code][1:], None], strict=True):
            send(code, use.case.out, following)
    return pending


def _comes_first(clock: Clock, facts: TrayFacts, use: _Use) -> Minute | None:
    """When a tray comes to the department before its first use; None where it need not."""
    if facts.arrives is not None:
        return clock.after(facts.arrives, clock.site.loan_check_in_minutes)
    if facts.sterile_until is not None and facts.sterile_until < use.case.end:
        return max(clock.now, clock.now if facts.ready is None else facts.ready)
    return None


def _late(clock: Clock, facts: TrayFacts, use: _Use, wait: Waits) -> _Late | None:
    turnaround = (
        facts.configuration.turnaround_minutes if use.status is Status.HELD else facts.fast_minutes
    )
    ready = clock.after(use.comes, turnaround + wait.minutes)
    if ready <= use.case.needed_by:
        return None
    return _Late(
        facts.tray.code,
        Reason(
            "department full",
            {
                "tray": facts.tray.code,
                "stage": wait.stage,
                "waits": wait.minutes,
                "ready": None if ready >= NEVER else clock.local(moment(ready)),
                "minutes_late": None if ready >= NEVER else ready - use.case.needed_by,
            },
        ),
    )


def _downgraded(outcome: TrayOutcome, late: Sequence[_Late], fleet: Fleet) -> TrayOutcome:
    """Held becomes conditional where it rests on a tray or pack that the load makes late."""
    by_tray = {found.tray: found.reason for found in late}

    def of(codes: Iterable[str]) -> tuple[Reason, ...]:
        return tuple(by_tray[code] for code in codes if code in by_tray)

    def set_line(line: SetLine) -> SetLine:
        reasons = of(line.trays)
        if not reasons:
            return line
        return replace(line, status=Status.CONDITIONAL, because=(*line.because, *reasons))

    def instrument_line(line: Line) -> Line:
        packs = [code for code in outcome.packs if line.item in fleet.facts[code].contents]
        reasons = of(packs)
        if not reasons or line.short:
            return line
        return line._replace(held=0, conditional=line.quantity, because=(*line.because, *reasons))

    return replace(
        outcome,
        sets=tuple(set_line(line) for line in outcome.sets),
        lines=tuple(instrument_line(line) for line in outcome.lines),
    )
