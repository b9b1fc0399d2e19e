"""Take a tray on through sterile services, as it is scanned at a station."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.movements import locked_item
from trays.errors import TrayRefused
from trays.forecast import Forecast
from trays.ledger import TRAYS
from trays.models import Hold, LoadState, Machine, MachineKind, Tray, Wash
from trays.operations.moves import move_tray
from trays.stages import HELD_STAGES, STAGES, Stage, may_follow, stands

WITH_A_CASE = (Stage.ISSUED, Stage.IN_THEATRE, Stage.RETURNED_USED)
STERILE = (Stage.STERILE_STORE, Stage.ISSUED, Stage.IN_THEATRE)
BY_OTHER_ACTS = {
    Stage.PACKED: "packing",
    Stage.STERILISING: "sterilising",
    Stage.AWAITING_RELEASE: "sterilising",
}
"""Stages to which a tray comes by an act that says more than a scan."""
_DOING = {
    Stage.RETURNED_USED: "its return",
    Stage.STERILE_STORE: "the sterile store",
    Stage.ISSUED: "the issue",
    Stage.IN_THEATRE: "theatre",
}
"""How a sentence calls the coming to a stage, where its own name does not do."""


@transaction.atomic
def take_tray_to(
    *,
    tray: Tray,
    stage: Stage,
    by: Person,
    now: datetime,
    forecast: Forecast,
    case_ref: str = "",
    station: str = "",
    reason: str = "",
    seq: int | None = None,
) -> Tray:
    """The tray at its next stage, with its forecast.

    TrayRefused: already (it is there), issued_to (it is another case's), on_hold, not_here (the
    stage does not follow where it is), sterile_date_over (for an issue), wash_missing and
    load_not_passed (for assembly, where the house has washers).
    """
    there = here(tray, by, seq)
    if stage == Stage.ISSUED and there.stage == stage and case_ref not in ("", there.case_ref):
        raise TrayRefused("issued_to", tray=there.code, case=there.case_ref or "no case")
    if there.stage == stage:
        raise TrayRefused("already", tray=there.code, stage=there.stage)
    if stage == Stage.RETURNED_USED and there.stage == Stage.ISSUED:
        # It was in theatre, whether or not it was scanned there.
        there = _moved(there, Stage.IN_THEATRE, by, now, forecast, there.case_ref, station, "")
    is_release = (there.stage, stage) == (Stage.AWAITING_RELEASE, Stage.STERILE_STORE)
    if there.stage in HELD_STAGES:  # Lifted by name, with a reason: not by a scan.
        raise TrayRefused("on_hold", tray=there.code, stage=there.stage, why=_why_held(there))
    if stage in BY_OTHER_ACTS or is_release or not may_follow(there.stage, stage):
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing=_DOING.get(stage, stage.value),
            wanted=before_in_words(stage),
        )
    until = there.sterile_until
    if stage == Stage.ISSUED and until is not None and until < now:
        raise TrayRefused("sterile_date_over", tray=there.code, until=there.site.local(until))
    if (there.stage, stage) == (Stage.CLEANING, Stage.ASSEMBLY):
        _has_been_washed(there)
    return _moved(there, stage, by, now, forecast, case_ref or there.case_ref, station, reason)


def here(tray: Tray, by: Person, seq: int | None = None) -> Tray:
    """The tray as it stands, locked; TrayRefused (elsewhere), MoveRefused (seq_stale)."""
    there: Tray = locked_item(TRAYS, tray, seq)
    if there.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Tray {tray.code}")
    return there


def before_in_words(stage: Stage) -> str:
    """From which stages a tray may come to this one."""
    before = [one for one, row in STAGES.items() if stage in row.next and row.readiness != "held"]
    return " or ".join(map(stands, before))


def _why_held(tray: Tray) -> str:
    """What was said when it was held; one that came from a file has its note alone.  One query."""
    hold = Hold.objects.filter(tray=tray, lifted_at=None).first()
    said = [hold.kind, hold.note] if hold else [tray.note]
    return ": ".join(filter(None, said)).rstrip(".") or "no reason is on record"


def _moved(
    tray: Tray,
    stage: Stage,
    by: Person,
    now: datetime,
    forecast: Forecast,
    case_ref: str,
    station: str,
    reason: str,
) -> Tray:
    return move_tray(
        tray=tray,
        stage=stage,
        by=by,
        now=now,
        # What is sterile was ready when it was released; a stage after use begins a new count.
        ready_at=tray.ready_at if stage in STERILE and tray.ready_at else forecast(tray, stage),
        sterile_until=tray.sterile_until if stage in STERILE else None,
        case_ref=case_ref if stage in WITH_A_CASE else "",
        station=station,
        reason=reason,
    )


def _has_been_washed(tray: Tray) -> None:
    if not Machine.objects.filter(site=tray.site_id, kind=MachineKind.WASHER).exists():
        return
    wash = Wash.objects.filter(tray=tray, seq=tray.seq).select_related("load__machine").last()
    if wash is None:
        raise TrayRefused("wash_missing", tray=tray.code)
    if wash.load.state != LoadState.PASSED:
        raise TrayRefused(
            "load_not_passed", tray=tray.code, load=str(wash.load), state=wash.load.state
        )


@transaction.atomic
def put_tray_at(*, tray: Tray, place: str, by: Person, now: datetime) -> Tray:
    """Note where a sterile tray lies.  TrayRefused: place_missing, not_here, elsewhere."""
    place = place.strip()[:64]
    if not place:
        raise TrayRefused("place_missing")
    there = here(tray, by)
    if there.stage not in (Stage.STERILE_STORE, Stage.ISSUED):
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing="its place",
            wanted=f"{stands(Stage.STERILE_STORE)}, released",
        )
    moved = move_tray(
        tray=there,
        stage=Stage.STERILE_STORE,
        by=by,
        now=now,
        ready_at=there.ready_at,
        sterile_until=there.sterile_until,
        station=place,
    )
    moved.location = place
    moved.save(update_fields=["location"])
    return moved
