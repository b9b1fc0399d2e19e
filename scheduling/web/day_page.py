"""The day page: theatres with their cases in order, and the day's trays on one line each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from scheduling.coverage.clock import Clock, minute
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.web.arrangement import TrayUse, uses_by_tray
from scheduling.web.case_lines import CaseLine
from scheduling.web.day_line import DayLine, Stay, day_line
from scheduling.web.tray_queue import configuration_in_words
from scheduling.web.tray_times import Readiness, Speed, moment_or_never, readiness


@dataclass(frozen=True, slots=True)
class TheatreDay:
    theatre: str
    pk: int | None
    lines: tuple[CaseLine, ...]


def theatre_days(lines: Sequence[CaseLine]) -> tuple[TheatreDay, ...]:
    """The day's cases by theatre, those without a theatre last."""
    theatres = {(line.theatre == "", line.theatre, line.theatre_pk) for line in lines}
    return tuple(
        TheatreDay(name, pk, tuple(line for line in lines if line.theatre == name))
        for _, name, pk in sorted(theatres)
    )


def trays_on(scenario: Scenario, report: Report, day: date) -> DayLine:
    """Every tray that a case needs on the local `day`, by its first needed-by.  No query."""
    zone = ZoneInfo(scenario.site.timezone)
    clock = Clock(scenario.site)
    rows: list[tuple[str, str, list[Stay]]] = []
    for code, uses in uses_by_tray(report).items():
        tray = scenario.trays[code]
        said = readiness(scenario, clock, tray, uses)
        turnaround = scenario.configurations[tray.configuration].turnaround_minutes
        stays = [
            stay
            for use, ready in zip(uses, said, strict=True)
            if (stay := stay_of(scenario, clock, use, ready, turnaround, zone)).needed_by.date()
            == day
        ]
        if stays:
            rows.append((code, configuration_in_words(scenario, tray), stays))
    rows.sort(key=lambda row: (row[2][0].needed_by, row[0]))
    return day_line(day, rows)


def stay_of(
    scenario: Scenario,
    clock: Clock,
    use: TrayUse,
    ready: Readiness,
    turnaround: int,
    zone: ZoneInfo,
) -> Stay:
    case = scenario.cases[use.case]
    turned = moment_or_never(clock.after(minute(use.out), turnaround))
    return Stay(
        case=use.case,
        theatre=case.theatre,
        needed_by=use.needed_by.astimezone(zone),
        start=case.start.astimezone(zone),
        out=use.out.astimezone(zone),
        ready=ready.ready.astimezone(zone) if ready.ready else None,
        turned_round=turned.astimezone(zone) if turned else None,
        forecast=ready.ready is None or ready.ready > scenario.site.now,
        fast_track=ready.speed is Speed.FAST_TRACK,
    )
