"""The trays as a workbook, and what each lacks of its count sheet.

Stage and times count for trays that are new to the house: from then on a tray moves by scan.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from typing import cast

from deploy.kit.imports.compare import Said, compared, said_in
from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet
from trays.assets import assets_of
from trays.models import Configuration, Instrument, MissingLine, Tray
from trays.models.tray import Ownership
from trays.operations.moves import enter_tray
from trays.stages import ON_SITE_STAGES, STAGES, Stage

TRAYS = SheetSpec(
    "Trays",
    (
        Column("Tray", Kind.CODE, key=True, most=64),
        Column("Configuration", Kind.CODE, required=True, most=64),
        Column("Place", Kind.CODE, most=64),
        Column("Owner", Kind.CHOICE, choices=tuple(Ownership.values), note="Empty: owned."),
        Column(
            "Asset",
            Kind.CODE,
            most=30,
            note="GS1 asset identifier on its tag; empty: we number it.",
        ),
        Column(
            "Stage",
            Kind.CHOICE,
            choices=tuple(Stage.values),
            note="A new tray needs one, a loan not here yet: with supplier. Then it moves by scan.",
        ),
        Column(
            "Ready",
            Kind.MOMENT,
            note="When it is, or was, sterile and released. A new tray that is here needs it.",
        ),
        Column("Sterile until", Kind.MOMENT, note="Empty: sterility ends by event, not by date."),
        Column("Expected", Kind.MOMENT, note="A loan not here yet: when it should be."),
        Column("Note", most=400),
    ),
    once=("Tray",),
)
MISSING = SheetSpec(
    "Missing",
    (
        Column("Tray", Kind.CODE, key=True, most=64),
        Column("REF", Kind.CODE, key=True, most=64),
        Column("Quantity", Kind.WHOLE, note="Empty is 1."),
    ),
    once=("Tray", "REF"),
    may_be_empty=True,
)
KEPT = {"Place": "location", "Owner": "owner", "Note": "note"}
"""Columns that a workbook may change on a tray that is here → field."""
ENTRY = ("Stage", "Ready", "Sterile until", "Expected")


class Trays:
    spec = WorkbookSpec("trays", (TRAYS, MISSING))
    title = "Trays"
    about = "Each tray with its configuration, place and owner, and what it lacks."
    permission = "trays.change_tray"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Six queries."""
        there = {
            one.code: one
            for one in Tray.objects.filter(site=site).select_related("configuration", "site")
        }
        configurations = {
            one.code: one
            for one in Configuration.objects.filter(site=site).prefetch_related("versions")
        }
        instruments = {one.ref: one for one in Instrument.objects.filter(site=site)}
        missing = _missing(site)
        # An asset identifier is one tray's in the whole world, not only at this site.
        tagged = {
            asset: code if site_id == site.pk else ""
            for asset, code, site_id in Tray.objects.values_list("asset", "code", "site_id")
        }
        for row in sheets[TRAYS.name].rows:
            tagged.setdefault(str(row.values.get("Asset", "")), str(row.values["Tray"]))
        codes = {*there, *sheets[TRAYS.name].named("Tray")}
        return Comparison(
            (
                *(_judged(row, there, configurations, tagged) for row in sheets[TRAYS.name].rows),
                *(
                    _judged_missing(row, codes, instruments, missing)
                    for row in sheets[MISSING.name].rows
                ),
            )
        )

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        new = [row.act for row in comparison.of(TRAYS.name, Outcome.NEW)]
        untagged = [str(said["Tray"]) for _, said, _ in new if not said.get("Asset")]
        taken = {*Tray.objects.values_list("asset", flat=True)}
        taken |= {str(said["Asset"]) for _, said, _ in new if said.get("Asset")}
        assets = assets_of(by.site.asset_prefix, untagged, taken)
        for act in new:
            _enter(act, assets, by, now)
        changed = []
        for row in comparison.of(TRAYS.name, Outcome.CHANGED):
            tray, said = row.act[0], row.act[1]
            _fill(tray, said)
            changed.append(tray)
        Tray.objects.bulk_update(changed, list(KEPT.values()), batch_size=500)
        _write_missing(comparison, by.site)

    def rows(self, site: Site) -> Rows:
        trays = Tray.objects.filter(site=site).select_related("configuration", "site")
        return {
            TRAYS.name: map(_shown, trays.order_by("code")),
            MISSING.name: (
                {"Tray": code, "REF": ref, "Quantity": quantity}
                for (code, ref), quantity in sorted(_missing(site).items())
            ),
        }


def _judged(
    row: Row,
    there: Mapping[str, Tray],
    configurations: Mapping[str, Configuration],
    tagged: Mapping[str, str],
) -> RowResult:
    said = said_in(row)
    code, kind = str(row.values["Tray"]), str(row.values["Configuration"])
    tray, configuration = there.get(code), configurations.get(kind)
    reasons = []
    if configuration is None:
        reasons.append(f"Configuration: there is no {kind}. Import the count sheets first.")
    elif not configuration.versions.all():
        reasons.append(f"Configuration: {kind} has no count sheet. Import the count sheets first.")
    if (asset := row.values.get("Asset")) and tagged[str(asset)] != code:
        reasons.append(f"Asset: {asset} is the tag of another tray. Read this tray's own tag.")
    if tray is None:
        reasons += _entry_faults(row)
        shown = None
    else:
        shown = _shown(tray)
        if kind != tray.configuration.code:
            reasons.append(
                f"Configuration: {code} is a {tray.configuration.code}. A tray keeps its kind; "
                "enter another tray."
            )
        if said.get("Asset") not in (None, tray.asset):
            reasons.append(f"Asset: the tag of {code} says {tray.asset}.")
        said = {name: value for name, value in said.items() if name in KEPT or name == "Tray"}
        said = {**said, "Owner": said.get("Owner") or tray.owner}
    act = (tray, said_in(row) if tray is None else said, configuration)
    return compared(TRAYS.name, row, code, said, shown, reasons=tuple(reasons), act=act)


def _entry_faults(row: Row) -> list[str]:
    """A new tray says where it is in its cycle; nothing is ready by silence."""
    stage = row.values.get("Stage")
    if stage is None:
        of_loan = " A loan not here yet is with its supplier." if "Expected" in row.values else ""
        return [f"Stage: say where the new tray is in its cycle.{of_loan}"]
    stage = Stage(str(stage))
    faults = []
    if stage in ON_SITE_STAGES and "Ready" not in row.values:
        faults.append(
            f"Ready: a tray in stage “{stage}” has a time: when it is sterile and released."
        )
    if STAGES[stage].readiness == "held" and "Ready" in row.values:
        faults.append(f"Ready: a tray in stage “{stage}” has none.")
    if "Expected" in row.values and stage != Stage.WITH_SUPPLIER:
        faults.append("Expected: only for a loan that is still with its supplier.")
    return faults


def _enter(
    act: tuple[None, Said, Configuration], assets: Mapping[str, str], by: Person, now: datetime
) -> None:
    _, said, configuration = act
    site, code = by.site, str(said["Tray"])
    version = max(configuration.versions.all(), key=lambda one: one.number)
    tray = Tray(
        site=site,
        code=code,
        asset=str(said.get("Asset") or assets[code]),
        configuration=configuration,
        version=version,
    )
    _fill(tray, said)
    moments = {
        name: moment.replace(tzinfo=site.zone) if moment else None
        for name in ENTRY[1:]
        for moment in [cast("datetime | None", said.get(name))]
    }
    enter_tray(
        tray=tray,
        stage=Stage(str(said["Stage"])),
        by=by,
        now=now,
        ready_at=moments["Ready"],
        sterile_until=moments["Sterile until"],
        expected_at=moments["Expected"],
    )


def _fill(tray: Tray, said: Said) -> None:
    for column, field in KEPT.items():
        if column in said:
            setattr(tray, field, str(said[column] or ("owned" if column == "Owner" else "")))


def _shown(tray: Tray) -> Said:
    def local(moment: datetime | None) -> datetime | None:
        return moment and tray.site.local(moment).replace(tzinfo=None)

    return {
        "Tray": tray.code,
        "Configuration": tray.configuration.code,
        "Place": tray.location,
        "Owner": tray.owner,
        "Asset": tray.asset,
        "Stage": tray.stage,
        "Ready": local(tray.ready_at),
        "Sterile until": local(tray.sterile_until),
        "Expected": local(tray.expected_at),
        "Note": tray.note,
    }


# -- what a tray lacks ------------------------------------------------------------------------


def _judged_missing(
    row: Row,
    codes: set[str],
    instruments: Mapping[str, Instrument],
    missing: Mapping[tuple[str, str], int],
) -> RowResult:
    code, ref = str(row.values["Tray"]), str(row.values["REF"])
    quantity = cast(int, row.values.get("Quantity", 1))
    reasons = []
    if code not in codes:
        reasons.append(f"Tray: there is no {code}.")
    if ref not in instruments:
        reasons.append(f"REF: there is no instrument {ref}.")
    if quantity < 1:
        reasons.append("Quantity: 1 or more. A tray that is complete has no row.")
    before = missing.get((code, ref))
    shown = None if before is None else {"Quantity": before}
    act = (code, instruments.get(ref), quantity)
    return compared(
        MISSING.name,
        row,
        f"{code} lacks {ref}",
        {"Quantity": quantity},
        shown,
        reasons=tuple(reasons),
        act=act,
    )


def _write_missing(comparison: Comparison, site: Site) -> None:
    """A workbook notes what is missing; that it is back is for whoever closes the count sheet."""
    trays = {tray.code: tray for tray in Tray.objects.filter(site=site)}
    for row in comparison.of(MISSING.name, Outcome.NEW, Outcome.CHANGED):
        code, instrument, quantity = row.act
        MissingLine.objects.update_or_create(
            tray=trays[code], instrument=instrument, defaults={"quantity": quantity}
        )


def _missing(site: Site) -> dict[tuple[str, str], int]:
    """(tray, REF) → how many it lacks.  One query."""
    lines: dict[tuple[str, str], int] = defaultdict(int)
    for code, ref, quantity in MissingLine.objects.filter(tray__site=site).values_list(
        "tray__code", "instrument__ref", "quantity"
    ):
        lines[code, ref] = quantity
    return lines
