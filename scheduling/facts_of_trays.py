"""Configurations and trays as the engine's input (5 queries).

Only the sterile store holds trays that are ready.  A tray further back in the cycle whose forecast
has passed is forecast anew from now; one that went to a case is that case's, and after it, until it
is scanned back, a turnaround from now away.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Exists, OuterRef, Subquery
from django.db.models.functions import Coalesce

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Site
from scheduling.coverage import values
from scheduling.coverage.clock import NEVER, Clock, moment
from scheduling.facts_of_site import rounded_down, rounded_up
from scheduling.models import HouseSettings
from scheduling.sterile.forecast import ready_when
from scheduling.tray_uses import FOR_EVER
from trays.models import Configuration, ConfigurationVersion, Content, Machine, MissingLine, Tray
from trays.stages import Stage

IN_USE = (Stage.ISSUED, Stage.IN_THEATRE)


@dataclass(frozen=True, slots=True)
class Configurations:
    """`by_code`: with the contents in force.  `sheets`: every version's contents, by its key.
    `machine_is_down`: a washer or steriliser of the house is out of use.  `transport`: opening
    minutes one way to sterile services, in every turnaround of `by_code` both ways."""

    by_code: Mapping[str, values.Configuration]
    sheets: Mapping[int, Mapping[str, int]]
    machine_is_down: bool = False
    transport: int = 0


def configuration_values(
    site: Site, department: Iterable[values.DepartmentStage] = ()
) -> Configurations:
    """Three queries.  A turnaround is never less than what the house states for the steps of its
    `department` together; the fast track is what it is, since it goes past what waits."""
    steps = sum(stage.minutes for stage in department)
    in_force = dict(
        ConfigurationVersion.objects.filter(configuration__site=site)
        .order_by("number")
        .values_list("configuration_id", "id")
    )
    sheets: dict[int, dict[str, int]] = defaultdict(dict)
    for version, ref, quantity in (
        Content.objects.filter(version__configuration__site=site)
        .order_by("version", "position", "id")
        .values_list("version_id", "instrument__ref", "quantity")
    ):
        sheets[version][ref] = quantity
    # Asked in passing: hardly ever is one down, and the machines need not be read then.
    down = Machine.objects.filter(site=site, down_since__isnull=False)
    house = HouseSettings.objects.filter(site=OuterRef("site")).values("transport_minutes")
    rows = list(
        Configuration.objects.filter(site=site).annotate(
            machine_is_down=Exists(down), transport=Coalesce(Subquery(house), 0)
        )
    )
    transport = rows[0].transport if rows else 0
    there_and_back = 2 * transport
    by_code = {
        one.code: values.Configuration(
            code=one.code,
            kind=one.kind,
            contents=sheets.get(in_force.get(one.pk, 0), {}),
            turnaround_minutes=max(one.turnaround_minutes, steps) + there_and_back,
            fast_track_minutes=one.fast_track_minutes + there_and_back
            if one.fast_track_minutes is not None
            else None,
            name=one.name,
        )
        for one in rows
    }
    is_down = any(one.machine_is_down for one in rows)
    return Configurations(by_code, sheets, is_down, transport)


def tray_values(
    site: Site, clock: Clock, configurations: Configurations, cases: dict[str, values.Case]
) -> dict[str, values.Tray]:
    """The trays by code.  Two queries.  Adds to the `cases` the trays that went to them."""
    lacking: dict[int, dict[str, int]] = defaultdict(dict)
    for tray_id, ref, quantity in MissingLine.objects.filter(tray__site=site).values_list(
        "tray_id", "instrument__ref", "quantity"
    ):
        lacking[tray_id][ref] = quantity
    trays = {}
    entered = Tray.objects.filter(site=site).exclude(stage=NOT_ENTERED)
    for tray in entered.select_related("configuration"):
        in_force = configurations.by_code[tray.configuration.code].contents
        sheet = configurations.sheets.get(tray.version_id, {})
        ready = ready_now(clock, tray, cases, configurations.transport)
        trays[tray.code] = values.Tray(
            code=tray.code,
            configuration=tray.configuration.code,
            ready=rounded_up(ready) if ready else None,
            arrives=rounded_up(tray.expected_at) if tray.expected_at else None,
            # On hold, or with its lender and not expected: not available.
            withdrawn=tray.ready_at is None and tray.expected_at is None,
            sterile_until=rounded_down(tray.sterile_until) if tray.sterile_until else None,
            missing=missing_now(in_force, sheet, lacking.get(tray.pk, {})),
            location=tray.location,
            note=tray.note,
        )
        if tray.stage in IN_USE:
            _promise(cases, tray)
    return trays


def ready_now(
    clock: Clock, tray: Tray, cases: Mapping[str, values.Case], transport: int = 0
) -> datetime | None:
    """When the tray is, or was, sterile, released and, where sterile services is elsewhere, in the
    house; None where it is on hold or awaited."""
    if tray.ready_at is None:
        return None
    if tray.stage == Stage.STERILE_STORE:
        on_the_way = clock.after(clock.now, transport)
        if not transport:
            return tray.ready_at
        return FOR_EVER if on_the_way >= NEVER else max(tray.ready_at, moment(on_the_way))
    if tray.stage in IN_USE:
        if not tray.case_ref or tray.case_ref in cases:
            # Issued and not opened yet, or with its own case: as sterile as it was.
            return (
                tray.ready_at
                if tray.case_ref or tray.stage == Stage.ISSUED
                else _anew(clock, tray, transport)
            )
        return _anew(clock, tray, transport)
    is_ahead = rounded_up(tray.ready_at) > clock.site.now
    return tray.ready_at if is_ahead else _anew(clock, tray, transport)


def _anew(clock: Clock, tray: Tray, transport: int) -> datetime:
    turnaround = tray.configuration.turnaround_minutes
    stage = Stage.RETURNED_USED if tray.stage in IN_USE else Stage(tray.stage)
    return ready_when(clock, stage, turnaround, transport=transport)


def _promise(cases: dict[str, values.Case], tray: Tray) -> None:
    """A tray that went to a case is reserved for it."""
    case = cases.get(tray.case_ref)
    if case is not None and tray.code not in case.reserved_trays:
        trays = tuple(sorted([*case.reserved_trays, tray.code]))
        cases[case.ref] = replace(case, reserved_trays=trays)


def missing_now(
    in_force: Mapping[str, int], sheet: Mapping[str, int], lacking: Mapping[str, int]
) -> dict[str, int]:
    """What a tray lacks of the count sheet in force: {ref: quantity}.

    It holds what the sheet it was assembled to lists, less what was noted as missing.  What it
    holds beyond the sheet in force is not counted: nobody will look for it there.
    """
    held = {ref: max(0, quantity - lacking.get(ref, 0)) for ref, quantity in sheet.items()}
    short = {ref: quantity - held.get(ref, 0) for ref, quantity in in_force.items()}
    return {ref: quantity for ref, quantity in short.items() if quantity > 0}
