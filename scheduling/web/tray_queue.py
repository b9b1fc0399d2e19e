"""Needed next: the queue of trays by needed-by, for sterile services."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from scheduling.coverage.clock import Clock
from scheduling.coverage.report import Report, Status
from scheduling.coverage.values import SUPPLEMENTARY, Need, Scenario, Tray
from scheduling.gaps import sentences
from scheduling.web.arrangement import TrayUse, uses_by_tray
from scheduling.web.tray_times import Readiness, Speed, readiness
from scheduling.words import item_in_words
from trays.stages import Stage, lies_at_its_place


@dataclass(frozen=True, slots=True)
class TrayState:
    """What the database adds to the engine's tray.  `since`: local, when it came to its stage;
    `why`: the reason given then; `back_on`: when a repair should be back."""

    stage: str
    owner: str
    pk: int | None = None
    since: datetime | None = None
    why: str = ""
    back_on: date | None = None
    case_ref: str = ""


@dataclass(frozen=True, slots=True)
class Lack:
    """An instrument missing from the tray that the case needs; `met`: another tray has it."""

    words: str
    need: Need
    met: bool


@dataclass(frozen=True, slots=True)
class QueueRow:
    """One tray for one case.  Moments are local; `after` is the case that has it before.

    `arrives`: of a loan that is still to come; `too_near`: it comes later before the case than
    the house wants.
    """

    tray: str
    configuration: str
    stage: str
    location: str
    note: str
    case: str
    case_pk: int | None
    theatre: str
    start: datetime
    needed_by: datetime
    ready: datetime | None
    ready_already: bool
    speed: Speed
    slack_minutes: int | None
    reprocess: bool
    after: str
    after_out: datetime | None
    lacks: tuple[Lack, ...]
    also_missing: int
    arrives: datetime | None = None
    too_near: bool = False
    state: TrayState | None = None

    @property
    def is_work(self) -> bool:
        """Something is to be done, or to be waited for, before it can go to the case."""
        return self.lacks_unmet or not (self.ready_already or self.waits_in_store)

    @property
    def has_more_to_know(self) -> bool:
        """Beside its stage and its slack."""
        return self.fast_track or self.reprocess or self.lacks_unmet or self.too_near

    @property
    def lacks_unmet(self) -> bool:
        return any(not lack.met for lack in self.lacks)

    @property
    def waits_in_store(self) -> bool:
        """Sterile and in time, in a store that is not in the house: it only has to be sent."""
        in_store = self.state is not None and self.state.stage == Stage.STERILE_STORE
        in_time = self.slack_minutes is not None and self.slack_minutes >= 0
        return in_store and in_time and not self.reprocess and not self.after

    @property
    def fast_track(self) -> bool:
        return self.speed is Speed.FAST_TRACK

    @property
    def awaited(self) -> bool:
        return self.speed is Speed.AWAITED


@dataclass(frozen=True, slots=True)
class QueueDay:
    day: date
    rows: tuple[QueueRow, ...]


@dataclass(frozen=True, slots=True)
class Unserved:
    """A set that a case asks for and that no tray can be."""

    case: str
    case_pk: int | None
    purpose: str
    needed_by: datetime
    theatre: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class IdleTray:
    """A tray that no booked case has been given."""

    tray: str
    configuration: str
    stage: str
    location: str
    note: str
    ready: datetime | None
    arrives: datetime | None
    overdue: bool
    withdrawn: bool
    missing: tuple[str, ...]
    state: TrayState | None = None


@dataclass(frozen=True, slots=True)
class Queue:
    unserved: tuple[Unserved, ...]
    days: tuple[QueueDay, ...]
    idle: tuple[IdleTray, ...]

    @property
    def rows(self) -> tuple[QueueRow, ...]:
        """All of them by needed-by, as the days have them."""
        return tuple(row for day in self.days for row in day.rows)

    @property
    def held(self) -> tuple[IdleTray, ...]:
        """The trays that nobody may use until somebody lifts the hold."""
        return tuple(tray for tray in self.idle if tray.withdrawn)

    @property
    def unneeded(self) -> tuple[IdleTray, ...]:
        return tuple(tray for tray in self.idle if not tray.withdrawn)


def queue(
    scenario: Scenario,
    report: Report,
    *,
    case_pks: Mapping[str, int],
    states: Mapping[str, TrayState],
    loan_hours_ahead: int,
) -> Queue:
    """No query: `case_pks` by case reference, `states` by tray code; the house wants a loan here
    so many hours before it is needed."""
    zone = ZoneInfo(scenario.site.timezone)
    clock = Clock(scenario.site)
    uses = uses_by_tray(report)
    rows = []
    for code, of_tray in uses.items():
        tray = scenario.trays[code]
        for number, (use, ready) in enumerate(
            zip(of_tray, readiness(scenario, clock, tray, of_tray), strict=True)
        ):
            previous = of_tray[number - 1] if number else None
            rows.append(
                queue_row(
                    scenario,
                    report,
                    tray,
                    use,
                    ready,
                    previous,
                    zone,
                    states.get(code),
                    case_pks.get(use.case),
                    timedelta(hours=loan_hours_ahead),
                )
            )
    rows.sort(key=lambda row: (row.needed_by, row.case, row.tray))
    return Queue(
        unserved=unserved(scenario, report, case_pks, zone),
        days=tuple(
            QueueDay(day, tuple(of_day))
            for day, of_day in groupby(rows, lambda row: row.needed_by.date())
        ),
        idle=tuple(
            idle_tray(scenario, scenario.trays[code], states.get(code), zone)
            for code in sorted(scenario.trays)
            if code not in uses
        ),
    )


def queue_row(
    scenario: Scenario,
    report: Report,
    tray: Tray,
    use: TrayUse,
    ready: Readiness,
    previous: TrayUse | None,
    zone: ZoneInfo,
    state: TrayState | None,
    case_pk: int | None,
    loan_ahead: timedelta,
) -> QueueRow:
    case = scenario.cases[use.case]
    lines = {line.item: line for line in reversed(report.case(use.case).lines)}
    lacks = tuple(
        Lack(item_in_words(scenario, item), lines[item].need, met=lines[item].short == 0)
        for item in sorted(tray.missing)
        if item in lines
    )
    return QueueRow(
        tray=tray.code,
        configuration=configuration_in_words(scenario, tray),
        stage=state.stage if state else "",
        location=tray.location
        if state is None or lies_at_its_place(state.stage, state.case_ref)
        else "",
        note=tray.note,
        case=use.case,
        case_pk=case_pk,
        theatre=case.theatre,
        start=case.start.astimezone(zone),
        needed_by=use.needed_by.astimezone(zone),
        ready=ready.ready.astimezone(zone) if ready.ready else None,
        ready_already=ready.ready is not None and ready.ready <= report.now,
        speed=ready.speed,
        slack_minutes=ready.slack_minutes,
        reprocess=ready.reprocess,
        after=previous.case if previous else "",
        after_out=previous.out.astimezone(zone) if previous else None,
        lacks=lacks,
        also_missing=len(tray.missing) - len(lacks),
        arrives=tray.arrives.astimezone(zone) if tray.arrives else None,
        too_near=tray.arrives is not None and tray.arrives > use.needed_by - loan_ahead,
        state=state,
    )


def unserved(
    scenario: Scenario, report: Report, case_pks: Mapping[str, int], zone: ZoneInfo
) -> tuple[Unserved, ...]:
    return tuple(
        Unserved(
            case=of_case.case,
            case_pk=case_pks.get(of_case.case),
            purpose=line.purpose,
            needed_by=of_case.needed_by.astimezone(zone),
            theatre=scenario.cases[of_case.case].theatre,
            why=sentences(line.because),
        )
        for of_case in report.cases
        for line in of_case.sets
        if line.status is Status.SHORT
    )


def idle_tray(scenario: Scenario, tray: Tray, state: TrayState | None, zone: ZoneInfo) -> IdleTray:
    return IdleTray(
        tray=tray.code,
        configuration=configuration_in_words(scenario, tray),
        stage=state.stage if state else "",
        location=tray.location,
        note=tray.note,
        ready=tray.ready.astimezone(zone) if tray.ready else None,
        arrives=tray.arrives.astimezone(zone) if tray.arrives else None,
        overdue=tray.arrives is not None and tray.arrives < scenario.site.now,
        withdrawn=tray.withdrawn,
        missing=tuple(item_in_words(scenario, item) for item in sorted(tray.missing)),
        state=state,
    )


def configuration_in_words(scenario: Scenario, tray: Tray) -> str:
    configuration = scenario.configurations[tray.configuration]
    name = configuration.name or configuration.code
    return (
        f"{name} (pack)" if configuration.kind == SUPPLEMENTARY and not configuration.name else name
    )
