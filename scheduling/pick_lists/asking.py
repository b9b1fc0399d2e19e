"""The list as it stands now: what each line asks, what is ticked, what has happened since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from deploy.kit.models import Site
from implants.models import Unit
from implants.states import STOCK, UnitState
from scheduling.coverage.values import Need
from scheduling.models import (
    CaseStatus,
    PickLine,
    PickListVersion,
    Scan,
    TrayReservation,
    UnitReservation,
)
from scheduling.models.pick_list import ScanAnswer
from scheduling.pick_lists.reading import item_of
from scheduling.pick_lists.scan_values import (
    Asked,
    AskedLine,
    BoxRead,
    BoxState,
    Read,
    TrayRead,
    TrayState,
    Unreadable,
)
from scheduling.pick_lists.versions import newest_number
from trays.models import Content, MissingLine, Tray
from trays.stages import STAGES, Stage

OVER = (CaseStatus.ENDED, CaseStatus.CANCELLED)


def asked_by(version: PickListVersion, read: Read) -> Asked:
    """What the list asks, and what else the site knows of what was read.

    One query for a text that names nothing, of which nothing else is asked; 4 for a box, 6 for a
    tray.
    """
    site = version.pick_list.site
    lines = [] if isinstance(read, Unreadable) else lines_of(version)
    units = [line.unit for line in lines if line.unit is not None]
    alike = list(alike_boxes(read, site)) if isinstance(read, BoxRead) and read.item else []
    boxes = box_states([*units, *alike])
    trays: dict[int, TrayState] = {}
    lacking: dict[int, tuple[str, ...]] = {}
    if isinstance(read, TrayRead):
        trays, lacking = _trays(version, lines, read, site)
    return Asked(
        code=version.pick_list.code,
        number=version.number,
        newest=newest_number(version.pick_list),
        lines=tuple(_asked_line(line, site, boxes, trays, lacking) for line in lines),
        boxes=tuple(boxes[unit.pk] for unit in alike),
        trays=tuple(trays.values()),
    )


def lines_of(version: PickListVersion) -> list[PickLine]:
    """The lines in the paper's order, each with `ticked`.  One query."""
    lines = _in_order(version)
    return list(lines.select_related("case", "unit__implant", "tray__configuration"))


AS_PRINTED = {
    "position": "position",
    "case": "case__ref",
    "need": "need",
    "unit": "unit__code",
    "tray": "tray__code",
    "words": "words",
    "location": "location",
    "ticked": "ticked",
}
"""What is said of a line, and where it stands."""


def lines_as_printed(version: PickListVersion) -> list[dict[str, Any]]:
    """What the paper says of each line, in its order, and whether it is `ticked`.  One query."""
    lines = _in_order(version).values_list(*AS_PRINTED.values())
    return [dict(zip(AS_PRINTED, line, strict=True)) for line in lines]


def _in_order(version: PickListVersion) -> QuerySet[PickLine]:
    ticks = Scan.objects.filter(line=OuterRef("pk"), answer=ScanAnswer.MATCHES_LIST)
    return version.lines.annotate(ticked=Exists(ticks)).order_by("position")


def alike_boxes(read: BoxRead, site: Site) -> QuerySet[Unit]:
    """The boxes that the label may belong to."""
    assert read.item is not None
    units = Unit.objects.filter(site=site, implant__ref=read.item.ref).select_related("implant")
    if read.code:
        return units.filter(code=read.code)
    same = Q(lot=read.lot)
    if read.serial:
        same |= Q(serial=read.serial)
    return units.filter(same)


def box_states(units: Iterable[Unit]) -> dict[int, BoxState]:
    by_key = {unit.pk: unit for unit in units}
    promised: dict[int, str] = dict(
        UnitReservation.objects.filter(unit__in=by_key, freed_at=None).values_list(
            "unit_id", "case__ref"
        )
    )
    return {
        key: BoxState(
            code=unit.code,
            item=item_of(unit.implant),
            lot=unit.lot,
            serial=unit.serial,
            expiry=unit.expiry,
            hold=unit.hold,
            gone="" if unit.state in STOCK else unit.state or "not entered yet",
            awaited=unit.expected_at is not None,
            promised_to=unit.case_ref if unit.state == UnitState.PICKED else promised.get(key, ""),
        )
        for key, unit in by_key.items()
    }


def _trays(
    version: PickListVersion, lines: list[PickLine], read: TrayRead, site: Site
) -> tuple[dict[int, TrayState], dict[int, tuple[str, ...]]]:
    """The trays of the list and the one that was read; and by line what the case misses of it."""
    trays = {line.tray.pk: line.tray for line in lines if line.tray is not None}
    if read.code not in {tray.code for tray in trays.values()}:
        found = Tray.objects.select_related("configuration").filter(site=site, code=read.code)
        trays |= {tray.pk: tray for tray in found}
    missing: defaultdict[int, dict[str, int]] = defaultdict(dict)
    for tray, ref, quantity in MissingLine.objects.filter(tray__in=trays).values_list(
        "tray_id", "instrument__ref", "quantity"
    ):
        missing[tray][ref] = quantity
    promised: defaultdict[int, list[str]] = defaultdict(list)
    for tray, case in (
        TrayReservation.objects.filter(tray__in=trays, freed_at=None)
        .order_by("case__start")
        .values_list("tray_id", "case__ref")
    ):
        promised[tray].append(case)
    states = {
        key: _tray_state(tray, site, missing[key], tuple(promised[key]))
        for key, tray in trays.items()
    }
    return states, _lacking(version, lines, missing)


def _tray_state(
    tray: Tray, site: Site, missing: dict[str, int], promised: tuple[str, ...]
) -> TrayState:
    def local(moment: datetime | None) -> datetime | None:
        return site.local(moment) if moment else None

    # A tray that was never entered is nowhere.
    readiness = STAGES[Stage(tray.stage)].readiness if tray.stage else "held"
    return TrayState(
        code=tray.code,
        configuration=tray.configuration.code,
        hold=(tray.stage or "not entered yet") if readiness == "held" else "",
        unready=tray.stage if readiness == "forecast" else "",
        issued_to=tray.case_ref if tray.stage == Stage.ISSUED else "",
        ready_at=local(tray.ready_at),
        sterile_until=local(tray.sterile_until),
        missing=missing,
        promised_to=promised,
    )


def _lacking(
    version: PickListVersion, lines: list[PickLine], missing: dict[int, dict[str, int]]
) -> dict[int, tuple[str, ...]]:
    """By line: instruments that this tray lacks and that the case's trays together do not hold."""
    sheets: defaultdict[int, dict[str, int]] = defaultdict(dict)
    versions = [line.tray.version_id for line in lines if line.tray is not None]
    for sheet, ref, quantity in Content.objects.filter(version__in=versions).values_list(
        "version_id", "instrument__ref", "quantity"
    ):
        sheets[sheet][ref] = quantity
    counted = {each["case"]: each["counted_on"] for each in version.content["sections"]}
    held: defaultdict[tuple[str, str], int] = defaultdict(int)
    for line in lines:
        if line.tray is not None:
            for ref, quantity in sheets[line.tray.version_id].items():
                held[line.case.ref, ref] += quantity - missing[line.tray.pk].get(ref, 0)
    return {
        line.pk: tuple(
            sorted(
                ref
                for ref in missing[line.tray.pk]
                if held[line.case.ref, ref] < counted[line.case.ref].get(ref, 0)
            )
        )
        for line in lines
        if line.tray is not None
    }


def _asked_line(
    line: PickLine,
    site: Site,
    boxes: dict[int, BoxState],
    trays: dict[int, TrayState],
    lacking: dict[int, tuple[str, ...]],
) -> AskedLine:
    return AskedLine(
        id=line.pk,
        case=line.case.ref,
        need=Need(line.need),
        end=site.local(line.case.end),
        ticked=line.ticked,  # type: ignore[attr-defined]
        is_over=line.case.status in OVER,
        box=boxes[line.unit_id] if line.unit_id else None,
        tray=trays.get(line.tray_id) if line.tray_id else None,
        lacking=lacking.get(line.pk, ()),
    )
