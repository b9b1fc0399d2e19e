"""A running count as a workbook: its list goes out, and comes back with what was found.

It is for places where nobody scans: the list is ticked there and sent once.  A blind count has no
list to send; what has no code of the house is scanned.  A workbook only ever adds to a count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet
from implants.models import Count, CountLine, Unit
from implants.operations.counts import LIES, count_box

SHEET = "Shelf count"
LABEL = ("REF", "LOT", "Serial", "Use by")
COLUMNS = (
    Column("Count", Kind.WHOLE, key=True, note="The number of the running count."),
    Column("Place", Kind.CODE, key=True, most=64, note="Where the box was found, or should be."),
    Column("Box", Kind.CODE, key=True, most=64, note="The house's own code of the box."),
    Column("REF", Kind.CODE, most=64, note="As recorded; a row that says otherwise is refused."),
    Column("LOT", Kind.CODE, most=40),
    Column("Serial", Kind.CODE, most=40),
    Column("Use by", Kind.DATE, example="2031-12-31"),
    Column("Counted", Kind.YES_NO, note="yes: it lies there. Empty: not found, or not looked at."),
)


class ShelfCount:
    spec = WorkbookSpec(
        "shelf count",
        (SheetSpec(SHEET, COLUMNS, once=("Count", "Box"), may_be_empty=True),),
    )
    title = "Shelf count"
    about = (
        "The lists of running counts. Tick what was found; differences are settled at the count."
    )
    permission = "implants.count_shelf"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Three queries."""
        running = {count.pk: count for count in Count.objects.filter(site=site, closed_at=None)}
        beside = _Beside(
            running,
            {(line.count_id, line.unit_id): line for line in _lines(list(running))},
            {unit.code: unit for unit in Unit.objects.filter(site=site).select_related("implant")},
        )
        return Comparison(tuple(beside.judge(row) for row in sheets[SHEET].rows))

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        for row in comparison.of(SHEET, Outcome.NEW, Outcome.CHANGED):
            count, unit, place = row.act
            count_box(count=count, unit=unit, place=place, by=by, now=now)

    def rows(self, site: Site) -> Rows:
        listed = Count.objects.filter(site=site, closed_at=None, is_blind=False)
        return {SHEET: (_shown(line) for line in _lines([count.pk for count in listed]))}


def _lines(counts: list[int]) -> list[CountLine]:
    """Those that name a box, in the order of the places.  One query."""
    lines = CountLine.objects.filter(count__in=counts, unit__isnull=False)
    return list(lines.select_related("unit__implant").order_by("count", "place", "unit__code"))


def _shown(line: CountLine) -> Said:
    assert line.unit is not None  # only those that name a box are asked for
    return {
        "Count": line.count_id,
        "Place": line.place,
        "Box": line.unit.code,
        **_label(line.unit),
        "Counted": line.is_counted or None,
    }


def _label(unit: Unit) -> Said:
    return {
        "REF": unit.implant.ref,
        "LOT": unit.lot,
        "Serial": unit.serial,
        "Use by": unit.expiry,
    }


@dataclass(frozen=True, slots=True)
class _Beside:
    running: Mapping[int, Count]
    lines: Mapping[tuple[int, int | None], CountLine]
    units: Mapping[str, Unit]

    def judge(self, row: Row) -> RowResult:
        said = said_in(row)
        count = self.running.get(int(str(row.values["Count"])))
        unit = self.units.get(str(row.values["Box"]))
        line = self.lines.get((count.pk, unit.pk)) if count and unit else None
        ticked = row.values.get("Counted") is True
        reasons = tuple(self._faults(row, said, count, unit, line, ticked=ticked))
        was = line is not None and line.is_counted
        # What was counted stays counted, whatever an older list says.
        says: dict[str, object] = {"Counted": True if ticked or was else None}
        there: dict[str, object] | None = {"Counted": was or None} if line else None
        if ticked and not was:
            says["Place"] = str(row.values["Place"])
            if there is not None and line is not None:
                there["Place"] = line.place
        what = f"box {row.values['Box']} at {row.values['Place']}"
        act = (count, unit, row.values["Place"])
        return compared(SHEET, row, what, says, there, reasons=reasons, act=act)  # type: ignore[arg-type]

    def _faults(
        self,
        row: Row,
        said: Said,
        count: Count | None,
        unit: Unit | None,
        line: CountLine | None,
        *,
        ticked: bool,
    ) -> Iterator[str]:
        if count is None:
            yield f"Count: no count {row.values['Count']} is running here."
        elif count.is_blind:
            yield f"Count: {count.pk} is blind. Its boxes are scanned."
        elif row.values["Place"] not in count.places:
            yield f"Place: not one of count {count.pk}. It counts {'; '.join(count.places)}."
        if unit is None:
            yield f"Box: the house has no {row.values['Box']}. Scan the box at the count."
            return
        there = _label(unit)
        for column in LABEL:
            if said.get(column) is not None and said[column] != (there[column] or None):
                yield (
                    f"{column}: the house has {there[column] or 'nothing'} for box {unit.code}. "
                    "Scan the box at the count."
                )
        if line is None and not ticked:
            yield "Box: not on the list of this count. Write yes in “Counted” if it lies there."
        elif line is None and (unit.state not in LIES or unit.expected_at is not None):
            yield f"Box: {unit.code} is {unit.state}. Scan it at the count."
