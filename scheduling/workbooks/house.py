"""The house as a workbook: theatres, surgeons, sterile services' hours and closed dates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, time
from typing import cast

from deploy.kit.imports.compare import compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet, Value
from scheduling.models import ClosedDate, HouseSettings, OpeningHours, Surgeon, Theatre

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
END_OF_DAY = 24 * 60

THEATRES = SheetSpec(
    "Theatres",
    (Column("Theatre", key=True, most=64),),
    once=("Theatre",),
    may_be_empty=True,
)
SURGEONS = SheetSpec(
    "Surgeons",
    (Column("Surgeon", key=True, most=120),),
    once=("Surgeon",),
    may_be_empty=True,
)
HOURS = SheetSpec(
    "Opening hours",
    (
        Column("Day", Kind.CHOICE, key=True, choices=DAYS),
        Column("Opens", Kind.TIME, required=True, example="06:00"),
        Column("Closes", Kind.TIME, required=True, note="00:00 is midnight at the day's end."),
    ),
    once=("Day",),
    may_be_empty=True,
)
CLOSED = SheetSpec(
    "Closed dates",
    (Column("Date", Kind.DATE, key=True),),
    once=("Date",),
    may_be_empty=True,
)


class House:
    spec = WorkbookSpec("house", (THEATRES, SURGEONS, HOURS, CLOSED))
    title = "House"
    about = "Theatres, surgeons, sterile services' opening hours, closed dates. Nothing is removed."
    permission = "scheduling.change_housesettings"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Four queries."""
        theatres = set(Theatre.objects.filter(site=site).values_list("code", flat=True))
        surgeons = set(Surgeon.objects.filter(site=site).values_list("name", flat=True))
        closed = set(ClosedDate.objects.filter(site=site).values_list("day", flat=True))
        hours = {one.weekday: one for one in OpeningHours.objects.filter(site=site)}
        return Comparison(
            (
                *_names(sheets[THEATRES.name], "Theatre", theatres),
                *_names(sheets[SURGEONS.name], "Surgeon", surgeons),
                *(_judged_hours(row, hours) for row in sheets[HOURS.name].rows),
                *_names(sheets[CLOSED.name], "Date", closed),
            )
        )

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        site = by.site
        HouseSettings.objects.get_or_create(site=site)
        new = _writer(comparison)
        Theatre.objects.bulk_create(Theatre(site=site, code=str(v)) for v in new(THEATRES))
        Surgeon.objects.bulk_create(Surgeon(site=site, name=str(v)) for v in new(SURGEONS))
        ClosedDate.objects.bulk_create(
            ClosedDate(site=site, day=cast(date, v)) for v in new(CLOSED)
        )
        for row in comparison.of(HOURS.name, Outcome.NEW, Outcome.CHANGED):
            weekday, opens, closes = row.act
            OpeningHours.objects.update_or_create(
                site=site,
                weekday=weekday,
                defaults={"opens_minute": opens, "closes_minute": closes},
            )

    def rows(self, site: Site) -> Rows:
        return {
            THEATRES.name: ({"Theatre": one.code} for one in Theatre.objects.filter(site=site)),
            SURGEONS.name: ({"Surgeon": one.name} for one in Surgeon.objects.filter(site=site)),
            HOURS.name: map(_shown_hours, OpeningHours.objects.filter(site=site)),
            CLOSED.name: ({"Date": one.day} for one in ClosedDate.objects.filter(site=site)),
        }


def _writer(comparison: Comparison) -> Callable[[SheetSpec], Iterable[object]]:
    return lambda sheet: (row.act for row in comparison.of(sheet.name, Outcome.NEW))


def _names(sheet: Sheet, column: str, there: Iterable[object]) -> Iterable[RowResult]:
    known = set(there)
    for row in sheet.rows:
        value = row.values[column]
        outcome = Outcome.SAME if value in known else Outcome.NEW
        yield RowResult(sheet.name, row.number, str(value), outcome, act=value)


def _judged_hours(row: Row, there: Mapping[int, OpeningHours]) -> RowResult:
    day = str(row.values["Day"])
    weekday = DAYS.index(day)
    opens = _minute(cast(time, row.values["Opens"]))
    closes = _minute(cast(time, row.values["Closes"])) or END_OF_DAY
    reasons = () if opens < closes else ("Closes: not before it opens.",)
    known = there.get(weekday)
    return compared(
        HOURS.name,
        row,
        day,
        said_in(row),
        None if known is None else _shown_hours(known),
        reasons=reasons,
        act=(weekday, opens, closes),
    )


def _shown_hours(one: OpeningHours) -> dict[str, Value | None]:
    return {
        "Day": DAYS[one.weekday],
        "Opens": _time(one.opens_minute),
        "Closes": _time(one.closes_minute),
    }


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _time(minute: int) -> time:
    return time(minute % END_OF_DAY // 60, minute % 60)
