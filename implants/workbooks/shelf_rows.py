"""One row of the shelf's workbook beside the boxes that the house knows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import cast

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.results import Difference, Outcome, RowResult
from deploy.kit.models import Site
from deploy.kit.workbooks.values import Row
from implants.models import Implant, Unit
from implants.states import STOCK

SHEET = "Shelf"
MOST = 500
Alike = tuple[str, str, date | None]
"""REF, LOT and use-by date: what boxes without a code or serial of their own have in common."""


@dataclass(frozen=True, slots=True)
class Act:
    """What writing a row needs: a box to put elsewhere, or so many new ones."""

    said: Said
    implant: Implant | None
    unit: Unit | None = None
    more: int = 0


@dataclass(slots=True)
class Beside:
    """The boxes of a site, and what the workbook has said of them so far."""

    implants: Mapping[str, Implant]
    by_code: Mapping[str, Unit]
    by_serial: Mapping[tuple[str, str], Unit]
    alike: Mapping[Alike, int]
    today: date
    first_row: dict[object, int] = field(default_factory=dict)

    @classmethod
    def at(cls, site: Site, now: datetime) -> Beside:
        """Two queries."""
        units = list(Unit.objects.filter(site=site).select_related("implant", "site"))
        return cls(
            {one.ref: one for one in Implant.objects.filter(site=site)},
            {unit.code: unit for unit in units},
            {(unit.implant.ref, unit.serial): unit for unit in units if unit.serial},
            Counter(
                (unit.implant.ref, unit.lot, unit.expiry)
                for unit in units
                if unit.state in STOCK and not unit.serial
            ),
            site.local(now).date(),
        )

    def judge(self, row: Row) -> RowResult:
        said = said_in(row)
        unit = self._box_of(row)
        if unit is not None:
            return self._known(row, said, unit)
        faults = [*self._faults(row), *self._twice(row)]
        return self._counted(row, said, faults)

    def _box_of(self, row: Row) -> Unit | None:
        values = row.values
        if box := values.get("Box"):
            return self.by_code.get(str(box))
        return self.by_serial.get((str(values["REF"]), str(values.get("Serial", ""))))

    def _known(self, row: Row, said: Said, unit: Unit) -> RowResult:
        """A box that is here already: only its place may be another one."""
        shown = shown_unit(unit)
        reasons = [
            f"{column}: the house has {shown[column] or 'nothing'} for box {unit.code}. What a box "
            "is, is corrected at the box, by two people."
            for column in ("REF", "LOT", "Serial", "Use by", "Owner", "On hold")
            if said.get(column) is not None and said[column] != shown[column]
        ]
        if unit.state not in STOCK:
            reasons.append(
                f"Box: {unit.code} is gone ({unit.state}). A workbook brings no box back."
            )
        reasons += self._twice(row)
        place = {"Place": said["Place"]} if said.get("Place") is not None else {}
        act = Act(said, unit.implant, unit)
        return compared(SHEET, row, what_of(row), place, shown, reasons=tuple(reasons), act=act)

    def _counted(self, row: Row, said: Said, faults: list[str]) -> RowResult:
        number = cast(int, row.values.get("Number", 1))
        before = 0
        if row.values.get("Box") or row.values.get("Serial"):
            if number != 1:
                faults.append("Number: a row with a box code or a serial is one box.")
        else:
            before = self.alike.get(alike_of(row), 0)
            if number < before:
                faults.append(
                    f"Number: {before} of them are on the shelf or on their way. A workbook takes "
                    "no box away: count the place, or record what became of the others."
                )
        ref = str(row.values["REF"])
        act = Act(said, self.implants.get(ref), None, number - before)
        outcome = Outcome.NEW
        changes: tuple[Difference, ...] = ()
        if faults:
            outcome = Outcome.REFUSED
        elif number == before:
            outcome = Outcome.SAME
        elif before:
            outcome, changes = Outcome.CHANGED, (Difference("Number", str(before), str(number)),)
        return RowResult(SHEET, row.number, what_of(row), outcome, changes, tuple(faults), act)

    def _faults(self, row: Row) -> Iterator[str]:
        values = row.values
        if (ref := str(values["REF"])) not in self.implants:
            yield f"REF: {ref} is not in the catalogue. Import the catalogue first."
        # What is on its way has no label to read yet.
        if not (values.get("LOT") or values.get("Serial") or values.get("Expected")):
            yield "LOT: a box has a LOT or a serial. Copy it from the label."
        if not 1 <= cast(int, values.get("Number", 1)) <= MOST:
            yield f"Number: 1 to {MOST}."
        if values.get("On hold") and values.get("Expected"):
            yield "On hold: a box on its way is put on hold at the box. Leave one of the two empty."
        expiry, endless = values.get("Use by"), values.get("Does not expire", False)
        if (expiry is None) != bool(endless):
            yield "Use by: give the date, or yes in “Does not expire”; one of the two."
        elif expiry is not None and cast(date, expiry) < self.today:
            yield f"Use by: {expiry} has passed. Take the box off the shelf."

    def _twice(self, row: Row) -> Iterator[str]:
        values = row.values
        key: object = values.get("Box") or (
            (values["REF"], values["Serial"]) if values.get("Serial") else alike_of(row)
        )
        first = self.first_row.setdefault(key, row.number)
        if first == row.number:
            return
        if values.get("Box") or values.get("Serial"):
            what = "Box" if values.get("Box") else "Serial"
            yield f"{what}: row {first} has {values[what]} too. Each box has its own."
        else:
            yield f"Row {first} is about the same. Put both into one row with their number."


def alike_of(row: Row) -> Alike:
    values = row.values
    expiry = cast("date | None", values.get("Use by"))
    return str(values["REF"]), str(values.get("LOT", "")), expiry


def what_of(row: Row) -> str:
    values = row.values
    parts = (
        values.get("Box"),
        values["REF"],
        ("LOT", values.get("LOT")),
        ("SN", values.get("Serial")),
    )
    said = [p if not isinstance(p, tuple) else f"{p[0]} {p[1]}" for p in parts if p and p[-1]]  # type: ignore[index]
    return " ".join(map(str, said))


def shown_unit(unit: Unit) -> Said:
    return {
        "Box": unit.code,
        "REF": unit.implant.ref,
        "LOT": unit.lot,
        "Serial": unit.serial,
        "Use by": unit.expiry,
        "Does not expire": True if unit.does_not_expire else None,
        "Number": None,
        "Place": unit.location,
        "Owner": unit.owner,
        "On hold": unit.hold,
        "Expected": unit.expected_at and unit.site.local(unit.expected_at).replace(tzinfo=None),
    }
