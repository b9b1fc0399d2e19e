"""When a tray is ready for each case that it serves, and how: the clock's rules for trays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from scheduling.coverage.clock import Clock, Minute, minute, moment
from scheduling.coverage.values import Configuration, Scenario, Tray
from scheduling.tray_uses import FOR_EVER
from scheduling.web.arrangement import TrayUse


class Speed(StrEnum):
    """How the tray makes it in time for a case."""

    STANDARD = "standard"
    FAST_TRACK = "fast track"
    AWAITED = "awaited"


@dataclass(frozen=True, slots=True)
class Readiness:
    """`ready` in UTC (None: never); `speed` is what the case relies on; `reprocess`: it is
    sterile now, but not for long enough."""

    ready: datetime | None
    speed: Speed
    slack_minutes: int | None
    reprocess: bool = False


def readiness(
    scenario: Scenario, clock: Clock, tray: Tray, uses: Sequence[TrayUse]
) -> tuple[Readiness, ...]:
    """One entry a use, in the order given (time order)."""
    configuration = scenario.configurations[tray.configuration]
    said = []
    for number, use in enumerate(uses):
        previous = uses[number - 1] if number else None
        said.append(ready_for(scenario, clock, tray, configuration, use, previous))
    return tuple(said)


def ready_for(
    scenario: Scenario,
    clock: Clock,
    tray: Tray,
    configuration: Configuration,
    use: TrayUse,
    previous: TrayUse | None,
) -> Readiness:
    needed_by = minute(use.needed_by)
    standard = configuration.turnaround_minutes
    fast = configuration.fast_track_minutes
    reprocess = False
    if previous is not None:
        begin = minute(previous.out)
    elif tray.arrives is not None:
        begin = minute(tray.arrives)
        standard += scenario.site.loan_check_in_minutes
        fast = None if fast is None else fast + scenario.site.loan_check_in_minutes
    else:
        begin = minute(tray.ready) if tray.ready is not None else clock.now
        reprocess = expires_before(clock, scenario, tray, use)
        if not reprocess:
            return answer(begin, Speed.STANDARD, needed_by)
        begin = max(begin, clock.now)
    awaited = previous is None and tray.arrives is not None
    at = clock.after(begin, standard)
    speed = Speed.AWAITED if awaited else Speed.STANDARD
    if at > needed_by and fast is not None and clock.after(begin, fast) <= needed_by:
        at, speed = clock.after(begin, fast), Speed.FAST_TRACK
    return answer(at, speed, needed_by, reprocess=reprocess)


def expires_before(clock: Clock, scenario: Scenario, tray: Tray, use: TrayUse) -> bool:
    """Its sterility ends before the end of the first case that it serves."""
    return tray.sterile_until is not None and minute(tray.sterile_until) < clock.end(
        scenario.cases[use.case]
    )


def answer(at: Minute, speed: Speed, needed_by: Minute, *, reprocess: bool = False) -> Readiness:
    slack = needed_by - at if at < minute(FOR_EVER) else None
    return Readiness(moment_or_never(at), speed, slack, reprocess)


def moment_or_never(at: Minute) -> datetime | None:
    """UTC; None for NEVER, which no calendar can say, and for what a forecast says instead."""
    return moment(at) if at < minute(FOR_EVER) else None
