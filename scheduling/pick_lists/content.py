"""From the cover check to a pick list: what to fetch, where, and what is not to hand.

Whatever a case wants is on its list: as a line where the thing is in the house, under "not to
hand" where it is not.  Nothing is left out in silence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from deploy.kit.attributes import in_words
from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import CaseReport, Report
from scheduling.coverage.values import SUPPLEMENTARY, Case, Need, Scenario
from scheduling.fault_words import faults_in_words
from scheduling.gaps import question_in_words
from scheduling.pick_lists import words
from scheduling.pick_lists.absences import absences
from scheduling.pick_lists.links import box_link, tray_link
from scheduling.pick_lists.values import Content, Kind, Line, Section
from scheduling.pick_lists.walking import walking


def content_of(
    scenario: Scenario,
    report: Report,
    cases: Sequence[str],
    *,
    address: str,
    assets: Mapping[str, str],
    title: str,
    is_day: bool = False,
) -> Content:
    """The list of these cases, in the report's order (time, then reference).

    `assets`: tray code → GIAI.  KeyError for a case that the report does not hold.
    """
    maker = _Maker(scenario, report, address, assets, ZoneInfo(scenario.site.timezone))
    sections = [maker.section(each) for each in report.cases if each.case in set(cases)]
    if len(sections) != len(set(cases)):
        raise KeyError(sorted(set(cases) - {section.case for section in sections}))
    return Content(title=title, sections=tuple(sections), is_day=is_day)


@dataclass(frozen=True, slots=True)
class _Maker:
    scenario: Scenario
    report: Report
    address: str
    assets: Mapping[str, str]
    zone: ZoneInfo

    def section(self, report: CaseReport) -> Section:
        case = self.scenario.cases[report.case]
        return Section(
            case=case.ref,
            theatre=case.theatre,
            side=case.side,
            start=self._local(case.start),
            needed_by=self._local(report.needed_by),
            verdict=report.verdict,
            trays=tuple(sorted(self._trays(case, report), key=walking)),
            boxes=tuple(sorted(self._boxes(report), key=walking)),
            absent=absences(self.scenario, report),
            unsettled=_unsettled(self.scenario, report),
            counted_on=self._counted_on(report),
        )

    def _local(self, moment: datetime) -> datetime:
        return moment.astimezone(self.zone)

    # -- trays ----------------------------------------------------------------------------------

    def _trays(self, case: Case, report: CaseReport) -> list[Line]:
        lines = [
            self._tray(case, report, code, Need.PLANNED)
            for each in report.sets
            for code in each.trays
        ]
        wanted = {line.item for line in report.lines if line.need is Need.PLANNED}
        for code in report.packs:
            kind = self.scenario.configurations[self.scenario.trays[code].configuration]
            need = Need.PLANNED if wanted & set(kind.contents) else Need.CONTINGENCY
            lines.append(self._tray(case, report, code, need))
        return [line for line in lines if self.scenario.trays[line.code].arrives is None]

    def _tray(self, case: Case, report: CaseReport, code: str, need: Need) -> Line:
        tray = self.scenario.trays[code]
        kind = self.scenario.configurations[tray.configuration]
        until = tray.sterile_until
        return Line(
            kind=Kind.TRAY,
            code=code,
            need=need,
            role="supplementary pack" if kind.kind == SUPPLEMENTARY else f"{kind.kind} set",
            item=kind.code,
            words=kind.name or self._contents_in_words(kind.contents),
            location=tray.location,
            link=tray_link(self.address, tray=code, asset=self.assets[code]),
            use_by=self._local(until).date() if until else None,
            note=self._not_yet(case, report, code),
        )

    def _contents_in_words(self, contents: Mapping[str, int]) -> str:
        if len(contents) != 1:
            return ""
        instrument = self.scenario.instruments[next(iter(contents))]
        return f"{instrument.role} {in_words(instrument.attributes)}".strip()

    def _not_yet(self, case: Case, report: CaseReport, code: str) -> str:
        """Why the tray cannot be taken as it stands now; empty where it can."""
        tray, now = self.scenario.trays[code], self.report.now
        before = [
            other.case
            for other in self.report.cases
            if other.out > now
            and self.scenario.cases[other.case].start < case.start
            and code in _trays_of(other)
        ]
        if before:
            return f"Only after case {before[-1]} and a turnaround"
        if tray.ready is not None and tray.ready > now:
            return f"Not ready before {words.day_and_clock(self._local(tray.ready))}"
        if tray.sterile_until is not None and tray.sterile_until < _end(case):
            until = words.day_and_clock(self._local(tray.sterile_until))
            return f"Sterile until {until}: to be reprocessed before this case"
        return ""

    # -- implants -------------------------------------------------------------------------------

    def _boxes(self, report: CaseReport) -> list[Line]:
        return [
            self._box(code, line.need)
            for line in report.lines
            for code in line.units
            if self.scenario.shelf[code].arrives is None
        ]

    def _box(self, code: str, need: Need) -> Line:
        unit = self.scenario.shelf[code]
        implant = self.scenario.implants[unit.implant]
        return Line(
            kind=Kind.BOX,
            code=code,
            need=need,
            role=implant.role,
            item=implant.ref,
            words=in_words(implant.attributes) or implant.name,
            location=unit.location,
            link=box_link(
                self.address, unit=code, gtin=implant.gtin, lot=unit.lot, serial=unit.serial
            ),
            lot=unit.lot,
            serial=unit.serial,
            use_by=unit.expiry,
        )

    # -- instruments ----------------------------------------------------------------------------

    def _counted_on(self, report: CaseReport) -> dict[str, int]:
        """All planned instruments, and the contingency ones that the list said were there."""
        counted: dict[str, int] = {}
        for line in report.lines:
            if line.item in self.scenario.instruments:
                there = line.quantity if line.need is Need.PLANNED else line.quantity - line.short
                if there:
                    counted[line.item] = counted.get(line.item, 0) + there
        return counted


def _end(case: Case) -> datetime:
    return case.start + timedelta(minutes=case.minutes)


def _trays_of(report: CaseReport) -> set[str]:
    return {code for each in report.sets for code in each.trays} | set(report.packs)


def _unsettled(scenario: Scenario, report: CaseReport) -> tuple[str, ...]:
    said = [f"Plan fault: {fault}" for fault in faults_in_words(report.faults)]
    technique = scenario.techniques[scenario.cases[report.case].technique]
    said += [f"Open question: {question_in_words(technique, one)}" for one in report.questions]
    if report.gave_up:
        said.append("The cover check gave up: what this case can have is not known")
    said += [f"Note: {sentence(note)}" for note in report.notes]
    return tuple(said)
