"""The case list as a workbook: booked, moved, cancelled; sent again and again.

A case that the list no longer has stays as it is: only “cancelled” cancels.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import cast

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet
from scheduling.coverage.values import Priority
from scheduling.models import Case, CaseStatus, Side, Surgeon, Theatre
from scheduling.operations.booking_details import change_booking
from scheduling.operations.cases import book_case, cancel_case, move_case

CASES = SheetSpec(
    "Cases",
    (
        Column("Case", Kind.CODE, key=True, most=64, note="The reference; never a patient's name."),
        Column("Start", Kind.MOMENT, required=True, example="2027-03-01 08:30"),
        Column("Minutes", Kind.WHOLE, required=True),
        Column("Side", Kind.CHOICE, required=True, choices=tuple(Side.values)),
        Column("Theatre", most=64),
        Column("Surgeon", most=120),
        Column(
            "Priority",
            Kind.CHOICE,
            choices=tuple(one.value for one in Priority),
            note="Empty: elective.",
        ),
        Column(
            "Status",
            Kind.CHOICE,
            choices=(CaseStatus.BOOKED.value, CaseStatus.CANCELLED.value),
            note="Empty: booked.",
        ),
    ),
    once=("Case",),
)
MOVES = ("Start", "Minutes", "Theatre")
LONGEST = 24 * 60


class CaseList:
    spec = WorkbookSpec("case list", (CASES,))
    title = "Case list"
    about = "Booked, moved and cancelled cases. A case that is left out stays as it is."
    permission = "scheduling.book_case"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Three queries."""
        there = {
            one.ref: one
            for one in Case.objects.filter(site=site).select_related("theatre", "surgeon", "site")
        }
        theatres = {one.code: one for one in Theatre.objects.filter(site=site)}
        surgeons = {one.name: one for one in Surgeon.objects.filter(site=site)}
        return Comparison(
            tuple(_judged(row, there, theatres, surgeons, site) for row in sheets[CASES.name].rows)
        )

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        """Cancelled ones first: what they free is there for the others."""
        rows = list(comparison.of(CASES.name, Outcome.NEW, Outcome.CHANGED))
        for row in sorted(rows, key=lambda row: not row.act.cancels):
            row.act.carry_out(by, now)

    def rows(self, site: Site) -> Rows:
        cases = Case.objects.filter(
            site=site, status__in=(CaseStatus.BOOKED, CaseStatus.CANCELLED)
        ).select_related("theatre", "surgeon", "site")
        return {CASES.name: map(_shown, cases)}


class _Act:
    """What a row asks for: book, change, move or cancel."""

    def __init__(
        self,
        said: Said,
        case: Case | None,
        theatre: Theatre | None,
        surgeon: Surgeon | None,
        start: datetime,
    ) -> None:
        self.said, self.case = said, case
        self.theatre, self.surgeon, self.start = theatre, surgeon, start
        self.cancels = case is not None and said.get("Status") == CaseStatus.CANCELLED

    def carry_out(self, by: Person, now: datetime) -> None:
        said = self.said
        minutes = cast(int, said["Minutes"])
        priority = Priority(str(said.get("Priority") or Priority.ELECTIVE))
        if self.case is None:
            book_case(
                ref=str(said["Case"]),
                start=self.start,
                minutes=minutes,
                side=Side(str(said["Side"])),
                by=by,
                now=now,
                theatre=self.theatre,
                surgeon=self.surgeon,
                priority=priority,
            )
        elif self.cancels:
            cancel_case(case=self.case, by=by, now=now)
        else:
            change_booking(case=self.case, surgeon=self.surgeon, priority=priority, by=by, now=now)
            move_case(
                case=self.case,
                start=self.start,
                minutes=minutes,
                theatre=self.theatre,
                by=by,
                now=now,
            )


def _judged(
    row: Row,
    there: Mapping[str, Case],
    theatres: Mapping[str, Theatre],
    surgeons: Mapping[str, Surgeon],
    site: Site,
) -> RowResult:
    ref = str(row.values["Case"])
    case = there.get(ref)
    said = {
        **said_in(row),
        "Priority": row.values.get("Priority", Priority.ELECTIVE.value),
        "Status": row.values.get("Status", CaseStatus.BOOKED.value),
    }
    theatre, surgeon = (str(row.values.get(name, "")) for name in ("Theatre", "Surgeon"))
    reasons = []
    if not 1 <= cast(int, row.values["Minutes"]) <= LONGEST:
        reasons.append(f"Minutes: 1 to {LONGEST}.")
    if theatre and theatre not in theatres:
        reasons.append(f"Theatre: there is no {theatre}. Add it to the house's workbook.")
    if surgeon and surgeon not in surgeons:
        reasons.append(f"Surgeon: there is no {surgeon}. Add them to the house's workbook.")
    if case is None and said["Status"] == CaseStatus.CANCELLED:
        reasons.append(
            "Status: a case that was never booked can't be cancelled. Leave the row out."
        )
    if case is not None:
        reasons += _change_faults(said, case)
    # What a person typed is as the site's clocks show it.
    start = cast(datetime, row.values["Start"]).replace(tzinfo=site.zone)
    act = _Act(said, case, theatres.get(theatre), surgeons.get(surgeon), start)
    shown = None if case is None else _shown(case)
    return compared(CASES.name, row, f"case {ref}", said, shown, reasons=tuple(reasons), act=act)


def _change_faults(said: Said, case: Case) -> list[str]:
    if said["Status"] == case.status == CaseStatus.CANCELLED:
        return []
    faults = []
    if case.status != CaseStatus.BOOKED:
        faults.append(f"Case: {case.ref} is {case.status}. A workbook changes booked cases only.")
    if case.side and said["Side"] != case.side:
        faults.append(
            f"Side: {case.ref} is booked {case.side.upper()}, the row says "
            f"{str(said['Side']).upper()}. Ask, and change it on the case's page."
        )
    if case.theatre and not said.get("Theatre") and "Theatre" in said:
        faults.append(f"Theatre: {case.ref} has {case.theatre}. Say which it has now.")
    return faults


def _shown(case: Case) -> Said:
    return {
        "Case": case.ref,
        "Start": case.site.local(case.start).replace(tzinfo=None),
        "Minutes": case.minutes,
        "Side": case.side,
        "Theatre": case.theatre.code if case.theatre else None,
        "Surgeon": case.surgeon.name if case.surgeon else None,
        "Priority": case.priority,
        "Status": case.status,
    }
