"""Instruments, kinds of tray and their count sheets as one workbook.

A count sheet is the rows of one configuration, in tray order.  One that says something else than
the sheet in force is issued as its next version; trays keep the version they were assembled to.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from typing import cast

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Difference, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet
from trays.models import Configuration, Content, Instrument
from trays.operations.count_sheets import issue_count_sheet
from trays.workbooks.instruments import (
    INSTRUMENTS,
    judged_instrument,
    shown_instrument,
    write_instruments,
)

CONFIGURATIONS = SheetSpec(
    "Configurations",
    (
        Column("Configuration", Kind.CODE, key=True, most=64),
        Column("Name", most=200),
        Column(
            "Kind",
            required=True,
            most=40,
            note="base, add-on, stand-alone, extraction, power, … or supplementary (a pack of a "
            "single instrument).",
        ),
        Column("Turnaround minutes", Kind.WHOLE, required=True, note="Opening minutes, 1 or more."),
        Column("Fast track minutes", Kind.WHOLE, note="Not more than the turnaround."),
    ),
    once=("Configuration",),
)
LINES = SheetSpec(
    "Count sheets",
    (
        Column("Configuration", Kind.CODE, key=True, most=64),
        Column("REF", Kind.CODE, key=True, most=64),
        Column("Quantity", Kind.WHOLE, note="Empty is 1."),
    ),
    once=("Configuration", "REF"),
)
FIELDS = {
    "Name": "name",
    "Kind": "kind",
    "Turnaround minutes": "turnaround_minutes",
    "Fast track minutes": "fast_track_minutes",
}
Contents = dict[str, int]
"""REF → quantity, in tray order."""


class CountSheets:
    spec = WorkbookSpec("count sheets", (INSTRUMENTS, CONFIGURATIONS, LINES))
    title = "Instruments and count sheets"
    about = "The instruments, the kinds of tray, and what each holds, in tray order."
    permission = "trays.change_configuration"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Three queries."""
        instruments = {one.ref: one for one in Instrument.objects.filter(site=site)}
        configurations = {one.code: one for one in Configuration.objects.filter(site=site)}
        rows = [judged_instrument(row, instruments) for row in sheets[INSTRUMENTS.name].rows]
        rows += [_judged(row, configurations) for row in sheets[CONFIGURATIONS.name].rows]
        refs = {*instruments, *sheets[INSTRUMENTS.name].named("REF")}
        codes = {*configurations, *sheets[CONFIGURATIONS.name].named("Configuration")}
        in_force = _in_force(site)
        stated = _stated(sheets[LINES.name])
        rows += [
            _judged_line(row, refs, codes, stated, in_force) for row in sheets[LINES.name].rows
        ]
        return Comparison(tuple(rows))

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        write_instruments(comparison, by.site)
        for row in comparison.of(CONFIGURATIONS.name, Outcome.NEW, Outcome.CHANGED):
            known, said = row.act
            one = known or Configuration(site=by.site, code=str(said["Configuration"]))
            for column, field in FIELDS.items():
                if column in said:
                    setattr(
                        one,
                        field,
                        "" if column == "Name" and said[column] is None else said[column],
                    )
            one.save()
        contents: dict[str, Contents] = {}
        for row in comparison.of(LINES.name, *Outcome):
            code, stated, before = row.act
            if stated != before:
                contents[code] = stated
        for one in Configuration.objects.filter(site=by.site, code__in=contents):
            issue_count_sheet(configuration=one, contents=contents[one.code], by=by.user, now=now)

    def rows(self, site: Site) -> Rows:
        in_force = _in_force(site)
        return {
            INSTRUMENTS.name: map(shown_instrument, Instrument.objects.filter(site=site)),
            CONFIGURATIONS.name: map(_shown, Configuration.objects.filter(site=site)),
            LINES.name: (
                {"Configuration": code, "REF": ref, "Quantity": quantity}
                for code in sorted(in_force)
                for ref, quantity in in_force[code].items()
            ),
        }


def _judged(row: Row, there: Mapping[str, Configuration]) -> RowResult:
    said, known = said_in(row), there.get(str(row.values["Configuration"]))
    minutes = cast(int, row.values["Turnaround minutes"])
    fast = cast("int | None", row.values.get("Fast track minutes"))
    reasons = []
    if minutes < 1:
        reasons.append("Turnaround minutes: 1 or more.")
    if fast is not None and not 1 <= fast <= minutes:
        reasons.append("Fast track minutes: 1 or more, and not more than the turnaround.")
    what = f"{row.values['Configuration']} {row.values.get('Name', '')}".strip()
    shown = None if known is None else _shown(known)
    return compared(
        CONFIGURATIONS.name, row, what, said, shown, reasons=tuple(reasons), act=(known, said)
    )


def _shown(one: Configuration) -> Said:
    return {"Configuration": one.code, **{c: getattr(one, f) for c, f in FIELDS.items()}}


def _judged_line(
    row: Row,
    refs: set[str],
    codes: set[str],
    stated: Mapping[str, Contents],
    in_force: Mapping[str, Contents],
) -> RowResult:
    """A line is the same where it has its number and its place in the sheet in force."""
    code, ref = str(row.values["Configuration"]), str(row.values["REF"])
    quantity = cast(int, row.values.get("Quantity", 1))
    reasons = []
    if code not in codes:
        reasons.append(f"Configuration: there is no {code}. Add it to the sheet Configurations.")
    if ref not in refs:
        reasons.append(f"REF: there is no instrument {ref}. Add it to the sheet Instruments.")
    if quantity < 1:
        reasons.append("Quantity: 1 or more.")
    before = in_force.get(code, {})
    outcome = Outcome.SAME
    changes: tuple[Difference, ...] = ()
    if reasons:
        outcome = Outcome.REFUSED
    elif ref not in before:
        outcome = Outcome.NEW
    elif gone := [one for one in before if one not in stated[code]]:
        changes = (Difference("Count sheet", "with " + ", ".join(gone), "without"),)
        outcome = Outcome.CHANGED
    elif before[ref] != quantity:
        changes = (Difference("Quantity", str(before[ref]), str(quantity)),)
        outcome = Outcome.CHANGED
    elif list(before).index(ref) != list(stated[code]).index(ref):
        places = (list(before).index(ref) + 1, list(stated[code]).index(ref) + 1)
        changes = (Difference("Place in the tray", str(places[0]), str(places[1])),)
        outcome = Outcome.CHANGED
    act = (code, stated[code], before)
    return RowResult(
        LINES.name, row.number, f"{code}: {ref}", outcome, changes, tuple(reasons), act
    )


def _stated(sheet: Sheet) -> dict[str, Contents]:
    stated: dict[str, Contents] = defaultdict(dict)
    for row in sheet.rows:
        values = row.values
        stated[str(values["Configuration"])][str(values["REF"])] = cast(
            int, values.get("Quantity", 1)
        )
    return stated


def _in_force(site: Site) -> dict[str, Contents]:
    """Configuration → its count sheet in force.  One query."""
    lines = Content.objects.filter(version__configuration__site=site).order_by(
        "version__configuration__code", "-version__number", "position", "id"
    )
    sheets: dict[str, Contents] = {}
    numbers: dict[str, int] = {}
    for code, number, ref, quantity in lines.values_list(
        "version__configuration__code", "version__number", "instrument__ref", "quantity"
    ):
        if numbers.setdefault(code, number) == number:
            sheets.setdefault(code, {})[ref] = quantity
    return sheets
