"""The case page: verdict, causes, plan, sets, implants and the size ladder, as values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.coverage.clock import Clock
from scheduling.coverage.report import CaseReport, Line, Report, SetLine, Status
from scheduling.coverage.values import Case, Implant, Need, Scenario, Unit
from scheduling.gaps import Gap, gaps_of, sentences
from scheduling.web.arrangement import promise_by_unit, uses_by_tray
from scheduling.web.ladder import BoxState, Ladder, ladder, state_of
from scheduling.web.tray_queue import configuration_in_words
from scheduling.web.tray_times import Readiness, readiness
from scheduling.words import (
    component_in_words,
    fact_in_words,
    item_in_words,
    label_in_words,
    procedure_in_words,
)


@dataclass(frozen=True, slots=True)
class HeldTray:
    """A tray of the case.  Moments are local."""

    tray: str
    configuration: str
    location: str
    ready: datetime | None
    readiness: Readiness
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SetOfTrays:
    purpose: str
    status: Status
    trays: tuple[HeldTray, ...]
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HeldBox:
    unit: str
    location: str
    lot: str
    serial: str
    expiry: date | None
    arrives: datetime | None
    owner: str


@dataclass(frozen=True, slots=True)
class ItemLine:
    """One line of what the case needs, in words, with the boxes that serve it."""

    words: str
    ref: str
    line: Line
    boxes: tuple[HeldBox, ...]
    leans: tuple[str, ...]
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeedGroup:
    need: Need
    lines: tuple[ItemLine, ...]

    @property
    def wanted(self) -> int:
        return sum(line.line.quantity for line in self.lines)

    @property
    def held(self) -> int:
        return sum(line.line.held for line in self.lines)


@dataclass(frozen=True, slots=True)
class CasePage:
    report: CaseReport
    procedure: str
    needed_by: datetime
    gaps: tuple[Gap, ...]
    notes: tuple[str, ...]
    components: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    confirmed: tuple[str, ...]
    sets: tuple[SetOfTrays, ...]
    packs: tuple[HeldTray, ...]
    implants: tuple[NeedGroup, ...]
    instruments: tuple[NeedGroup, ...]
    ladders: tuple[Ladder, ...]


def case_page(scenario: Scenario, report: Report, ref: str, *, short_dated_days: int) -> CasePage:
    """No query.  KeyError where the report has no such case."""
    case, of_case = scenario.cases[ref], report.case(ref)
    zone = ZoneInfo(scenario.site.timezone)
    trays = trays_of(scenario, report, ref, zone)
    lines = [item_line(scenario, line, zone) for line in of_case.lines]
    return CasePage(
        report=of_case,
        procedure=procedure_in_words(scenario, case),
        needed_by=of_case.needed_by.astimezone(zone),
        gaps=gaps_of(scenario, of_case),
        notes=sentences(of_case.notes),
        components=tuple(
            component_in_words(role, part)
            for role, part in sorted(
                case.components.items(), key=lambda named: "size" not in named[1].attributes
            )
        ),
        facts=tuple(
            (label_in_words(name), fact_in_words(value)) for name, value in case.facts.items()
        ),
        confirmed=tuple(sorted(case.confirmed)),
        sets=tuple(set_of_trays(line, trays) for line in of_case.sets),
        packs=tuple(trays[pack] for pack in of_case.packs),
        implants=by_need(line for line in lines if line.ref in scenario.implants),
        instruments=by_need(line for line in lines if line.ref in scenario.instruments),
        ladders=ladders_of(scenario, report, case, short_dated_days),
    )


def trays_of(
    scenario: Scenario, report: Report, ref: str, zone: ZoneInfo
) -> Mapping[str, HeldTray]:
    """The trays and packs of one case, with when each is ready for it."""
    clock = Clock(scenario.site)
    found = {}
    for code, uses in uses_by_tray(report).items():
        if not any(use.case == ref for use in uses):
            continue
        tray = scenario.trays[code]
        said = dict(
            zip((use.case for use in uses), readiness(scenario, clock, tray, uses), strict=True)
        )[ref]
        found[code] = HeldTray(
            tray=code,
            configuration=configuration_in_words(scenario, tray),
            location=tray.location,
            ready=said.ready.astimezone(zone) if said.ready else None,
            readiness=said,
            missing=tuple(item_in_words(scenario, item) for item in sorted(tray.missing)),
        )
    return found


def set_of_trays(line: SetLine, trays: Mapping[str, HeldTray]) -> SetOfTrays:
    return SetOfTrays(
        line.purpose,
        line.status,
        tuple(trays[code] for code in line.trays),
        sentences(line.because),
    )


def item_line(scenario: Scenario, line: Line, zone: ZoneInfo) -> ItemLine:
    units = [scenario.shelf[code] for code in line.units if code in scenario.shelf]
    return ItemLine(
        words=item_in_words(scenario, line.item),
        ref=line.item,
        line=line,
        boxes=tuple(held_box(unit, zone) for unit in units),
        leans=tuple(f"{lean.unit}, first for {lean.case}" for lean in line.leans_on),
        why=sentences(line.because),
    )


def held_box(unit: Unit, zone: ZoneInfo) -> HeldBox:
    return HeldBox(
        unit=unit.code,
        location=unit.location,
        lot=unit.lot,
        serial=unit.serial,
        expiry=unit.expiry,
        arrives=unit.arrives.astimezone(zone) if unit.arrives else None,
        owner=unit.owner,
    )


def by_need(lines: Iterable[ItemLine]) -> tuple[NeedGroup, ...]:
    """Planned, contingency, spare; levels without a line are left out."""
    all_lines = tuple(lines)
    groups = (
        NeedGroup(need, tuple(line for line in all_lines if line.line.need is need))
        for need in Need
    )
    return tuple(group for group in groups if group.lines)


def ladders_of(
    scenario: Scenario, report: Report, case: Case, short_dated_days: int
) -> tuple[Ladder, ...]:
    """A ladder for every planned component that comes in sizes and matches one implant."""
    zone = ZoneInfo(scenario.site.timezone)
    end = (case.start + timedelta(minutes=case.minutes)).astimezone(zone).date()
    short_before = report.now.astimezone(zone).date() + timedelta(days=short_dated_days)
    promises = promise_by_unit(report)
    wanted = frozenset(line.item for line in report.case(case.ref).lines)
    drawn = []
    for role, part in case.components.items():
        matches = [
            implant
            for implant in scenario.implants.values()
            if implant.role == role and matches_plan(implant, part.attributes)
        ]
        if len(matches) != 1 or "size" not in matches[0].attributes:
            continue
        planned = matches[0]
        line = line_of(scenario, planned, wanted)
        refs = {implant.ref for implant in line}
        states: dict[str, list[BoxState]] = {}
        for unit in scenario.shelf.values():
            if unit.implant in refs:
                states.setdefault(unit.implant, []).append(
                    state_of(
                        unit,
                        promises.get(unit.code),
                        case=case.ref,
                        end=end,
                        short_before=short_before,
                    )
                )
        drawn.append(
            ladder(
                role=role,
                implants=line,
                planned=planned.ref,
                window=wanted & refs,
                states=states,
            )
        )
    return tuple(drawn)


def matches_plan(implant: Implant, attributes: Mapping[str, object]) -> bool:
    return all(
        (implant.ref if key == "ref" else implant.attributes.get(key)) == value
        for key, value in attributes.items()
    )


def line_of(scenario: Scenario, planned: Implant, wanted: frozenset[str]) -> Sequence[Implant]:
    """The sizes to draw: same role and system, in the lengths that the window spans."""
    same = [
        implant
        for implant in scenario.implants.values()
        if implant.role == planned.role
        and implant.attributes.get("system") == planned.attributes.get("system")
        and "size" in implant.attributes
    ]
    lengths = {implant.attributes.get("length") for implant in same if implant.ref in wanted}
    lengths.add(planned.attributes.get("length"))
    return [implant for implant in same if implant.attributes.get("length") in lengths]
