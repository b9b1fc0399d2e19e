"""The sheet of instruments: one row a REF."""

from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Site
from deploy.kit.workbooks.attributes import (
    ATTRIBUTE_COLUMNS,
    COLUMN_OF,
    attributes_said,
    attributes_shown,
)
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec
from deploy.kit.workbooks.values import Row
from trays.models import Instrument

INSTRUMENTS = SheetSpec(
    "Instruments",
    (
        Column("REF", Kind.CODE, key=True, most=64),
        Column("Role", required=True, most=64, note="reamer, broach, trial stem, …"),
        Column("Name", most=200),
        *ATTRIBUTE_COLUMNS,
    ),
    once=("REF",),
)


def judged_instrument(row: Row, there: Mapping[str, Instrument]) -> RowResult:
    said, known = said_in(row), there.get(str(row.values["REF"]))
    reasons: tuple[str, ...] = ()
    if known is not None and row.values["Role"] != known.role:
        reasons = (
            f"Role: {known.ref} is a {known.role}; what techniques and trays refer to keeps its "
            "role. Enter another REF.",
        )
    what = f"{row.values['REF']} {row.values['Role']}"
    shown = None if known is None else shown_instrument(known)
    return compared(INSTRUMENTS.name, row, what, said, shown, reasons=reasons, act=(known, said))


def shown_instrument(one: Instrument) -> Said:
    return {
        "REF": one.ref,
        "Role": one.role,
        "Name": one.name,
        **{column.name: None for column in COLUMN_OF.values()},
        **attributes_shown(one.exact_attributes()),
    }


def write_instruments(comparison: Comparison, site: Site) -> None:
    new: list[Instrument] = []
    changed: list[Instrument] = []
    for row in comparison.of(INSTRUMENTS.name, Outcome.NEW, Outcome.CHANGED):
        known, said = row.act
        one = known or Instrument(site=site, ref=str(said["REF"]), role=str(said["Role"]))
        one.name = str(said["Name"] or "") if "Name" in said else one.name
        one.attributes = attributes_said(said, one.attributes)
        (new if known is None else changed).append(one)
    Instrument.objects.bulk_update(changed, ["name", "attributes"], batch_size=500)
    Instrument.objects.bulk_create(new, batch_size=500)
