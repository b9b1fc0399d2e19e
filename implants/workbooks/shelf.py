"""The shelf as a workbook: boxes that are here or on their way.

A row with a box code or a serial is one box.  Boxes without either are counted: the row says how
many of that REF, LOT and use-by date there are, so that the same list may be sent again and again.
A workbook brings boxes and puts them in another place; that one is gone, on hold or wrongly
labelled is a person's act at the box.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import cast

from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Sheet
from implants.box_codes import new_box_codes
from implants.models import Owner, Unit
from implants.operations.arrivals import enter_units
from implants.operations.shelf import put_away
from implants.states import STOCK
from implants.workbooks.shelf_rows import SHEET, Act, Beside, shown_unit

COLUMNS = (
    Column("Box", Kind.CODE, most=64, note="The house's own code of the box, where it has one."),
    Column("REF", Kind.CODE, key=True, most=64),
    Column("LOT", Kind.CODE, most=40),
    Column("Serial", Kind.CODE, most=40),
    Column("Use by", Kind.DATE, example="2031-12-31"),
    Column("Does not expire", Kind.YES_NO, note="yes: no use-by date, said on purpose."),
    Column("Number", Kind.WHOLE, note="Boxes alike without a code of their own; empty is one box."),
    Column("Place", Kind.CODE, most=64, note="Where it stands on the shelf."),
    Column("Owner", Kind.CHOICE, choices=tuple(Owner.values), note="Empty: owned."),
    Column("On hold", most=120, note="Why the box may not be used: it is kept in quarantine."),
    Column("Expected", Kind.MOMENT, note="Only for a box on its way: when it should be here."),
)


class Shelf:
    spec = WorkbookSpec("shelf", (SheetSpec(SHEET, COLUMNS),))
    title = "Shelf"
    about = "The boxes: REF, LOT, serial, use-by date, place and owner. New ones are received."
    permission = "implants.change_unit"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Two queries."""
        beside = Beside.at(site, now)
        return Comparison(tuple(beside.judge(row) for row in sheets[SHEET].rows))

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        acts: list[Act] = [row.act for row in comparison.of(SHEET, Outcome.NEW, Outcome.CHANGED)]
        uncoded = sum(act.more for act in acts if not act.said.get("Box"))
        codes = new_box_codes(by.site, uncoded)
        enter_units(
            units=[unit for act in acts for unit in _new_units(act, by.site, codes)],
            by=by,
            now=now,
        )
        for act in acts:
            if act.unit is not None:
                put_away(unit=act.unit, location=str(act.said["Place"]), by=by, now=now)

    def rows(self, site: Site) -> Rows:
        units = Unit.objects.filter(site=site, state__in=STOCK).select_related("implant", "site")
        return {SHEET: (shown_unit(unit) for unit in units.order_by("code"))}


def _new_units(act: Act, site: Site, codes: Iterator[str]) -> Iterator[Unit]:
    said = act.said
    expected = cast("datetime | None", said.get("Expected"))
    for _ in range(act.more):
        yield Unit(
            site=site,
            implant=act.implant,
            code=str(said.get("Box") or next(codes)),
            lot=str(said.get("LOT") or ""),
            serial=str(said.get("Serial") or ""),
            expiry=cast("date | None", said.get("Use by")),
            does_not_expire=said.get("Use by") is None,
            location=str(said.get("Place") or ""),
            hold=str(said.get("On hold") or ""),
            owner=str(said.get("Owner") or Owner.OWNED),
            # What a person typed is as the site's clocks show it.
            expected_at=expected and expected.replace(tzinfo=site.zone),
        )
