"""After a steriliser's cycle: read the indicator, release, fail, withdraw.

A release is always a person's act, and nothing here makes one follow by itself.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.hold_kinds import HoldKind
from trays.models import Biological, Load, LoadState, settings_of
from trays.operations.holds import hold_for
from trays.operations.incidents import open_incidents
from trays.operations.loads import locked_load, trays_in
from trays.operations.moves import move_tray
from trays.stages import Stage

AFTER_THE_CYCLE = (LoadState.AWAITING_RELEASE, LoadState.RELEASED)
STILL_WRAPPED = (Stage.AWAITING_RELEASE, Stage.STERILE_STORE, Stage.ISSUED)


@transaction.atomic
def read_indicator(*, load: Load, growth: bool, by: Person, now: datetime) -> Load:
    """What the biological indicator shows.  Growth does not withdraw by itself: a person does.

    TrayRefused: load_state.
    """
    load = locked_load(load, by, LoadState.RUNNING, *AFTER_THE_CYCLE, doing="reading its indicator")
    load.biological = Biological.GROWTH if growth else Biological.NO_GROWTH
    load.biological_at, load.biological_by = now, by.user
    load.save(update_fields=["biological", "biological_at", "biological_by"])
    return load


@transaction.atomic
def release_load(*, load: Load, by: Person, now: datetime) -> Load:
    """Its packs are sterile and may be used.

    TrayRefused: load_state (a failed load cannot be released), indicator_awaited,
    indicator_growth.
    """
    load = locked_load(load, by, LoadState.AWAITING_RELEASE, doing="releasing it")
    if load.biological == Biological.AWAITED:
        raise TrayRefused("indicator_awaited", load=str(load))
    if load.biological == Biological.GROWTH:
        raise TrayRefused("indicator_growth", load=str(load))
    days = settings_of(by.site).sterile_days
    load.state, load.released_at, load.released_by = LoadState.RELEASED, now, by.user
    load.save(update_fields=["state", "released_at", "released_by"])
    for tray in trays_in(load):
        if tray.stage == Stage.AWAITING_RELEASE:
            move_tray(
                tray=tray,
                stage=Stage.STERILE_STORE,
                by=by,
                now=now,
                ready_at=now,
                sterile_until=now + timedelta(days=days) if days else None,
                station=str(load),
            )
    return load


@transaction.atomic
def withdraw_load(*, load: Load, reason: str, by: Person, now: datetime) -> Load:
    """The load is no good after all, or is recalled: every pack that is still wrapped is held,
    wherever it is.  What was opened already is an incident.

    TrayRefused: load_state, withdraw_reason_missing.
    """
    load = locked_load(load, by, *AFTER_THE_CYCLE, doing="withdrawing it")
    reason = reason.strip()
    if not reason:
        raise TrayRefused("withdraw_reason_missing", load=str(load))
    for pack in load.packs.filter(last_seq=None).select_related("tray").order_by("tray__code"):
        if pack.tray.stage in STILL_WRAPPED:
            hold_for(tray=pack.tray, kind=HoldKind.LOAD, note=f"{load}: {reason}", by=by, now=now)
    was_released = load.state == LoadState.RELEASED
    load.state = LoadState.WITHDRAWN if was_released else LoadState.FAILED
    load.withdrawn_at, load.withdrawn_by = now, by.user
    load.said = "; ".join(part for part in (load.said, reason) if part)[:200]
    load.save(update_fields=["state", "withdrawn_at", "withdrawn_by", "said"])
    open_incidents(load=load, now=now)
    return load
