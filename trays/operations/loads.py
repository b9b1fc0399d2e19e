"""Loads of washers and sterilisers: open, fill, start, close.  Each is one transaction.

What happens to a steriliser's load afterwards is in `trays.operations.release`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.forecast import Forecast
from trays.hold_kinds import HoldKind
from trays.holding import CYCLES, Measured, deviations
from trays.models import (
    Biological,
    Content,
    Load,
    LoadState,
    Machine,
    MachineKind,
    Pack,
    Tray,
    Wash,
)
from trays.operations.bench import here, take_tray_to
from trays.operations.holds import hold_for
from trays.operations.moves import move_tray
from trays.stages import Stage

UNDER_WAY = (LoadState.OPEN, LoadState.RUNNING)


@transaction.atomic
def open_load(*, machine: Machine, by: Person, now: datetime) -> Load:
    """The machine's load that is being filled; a new one where there is none.

    TrayRefused: elsewhere, machine_down, load_state (its last load still runs).
    """
    machine = Machine.objects.select_for_update().get(pk=machine.pk)
    if machine.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Machine {machine.code}")
    last = machine.loads.order_by("-number").first()
    if last is not None and last.state == LoadState.OPEN:
        return last
    if machine.down_since is not None:
        raise TrayRefused("machine_down", machine=machine.code, reason=machine.down_reason)
    if last is not None and last.state == LoadState.RUNNING:
        raise TrayRefused("load_state", load=str(last), state=last.state, doing="filling it")
    return Load.objects.create(
        machine=machine,
        number=last.number + 1 if last else 1,
        opened_at=now,
        opened_by=by.user,
    )


def locked_load(load: Load, by: Person, *states: LoadState, doing: str) -> Load:
    """The load, locked.  TrayRefused: elsewhere, load_state unless it is in one of the states."""
    there = Load.objects.select_for_update(of=("self",)).select_related("machine").get(pk=load.pk)
    if there.machine.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Load {there}")
    if there.state not in states:
        raise TrayRefused("load_state", load=str(there), state=there.state, doing=doing)
    return there


def trays_in(load: Load) -> Sequence[Tray]:
    """What is in the load, by code.  One query."""
    of_kind = "washes__load" if load.machine.kind == MachineKind.WASHER else "packs__load"
    trays = Tray.objects.filter(**{of_kind: load})
    return list(trays.select_related("configuration").order_by("code"))


@transaction.atomic
def put_into_load(*, load: Load, tray: Tray, by: Person, now: datetime, forecast: Forecast) -> Tray:
    """A used tray into a washer (it comes to cleaning), a pack into a steriliser.

    TrayRefused: load_state, load_full, already (it is in this load), in_other_load, not_here.
    """
    load = locked_load(load, by, LoadState.OPEN, doing="putting trays in")
    there = here(tray, by)
    inside = trays_in(load)
    if there in inside:
        raise TrayRefused("already", tray=there.code, stage=f"in load {load}")
    if len(inside) >= load.machine.places:
        raise TrayRefused(
            "load_full", machine=load.machine.code, places=load.machine.places, load=str(load)
        )
    if load.machine.kind == MachineKind.WASHER:
        return _washed(load, there, by, now, forecast)
    pack = Pack.objects.filter(tray=there, last_seq=None).select_related("load__machine").first()
    if pack is not None and pack.load is not None and there.stage in (Stage.PACKED,):
        raise TrayRefused("in_other_load", tray=there.code, load=str(pack.load))
    if pack is None or there.stage != Stage.PACKED:
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing=f"load {load}",
            wanted=Stage.PACKED.value,
        )
    pack.load, pack.loaded_at, pack.loaded_by = load, now, by.user
    pack.save(update_fields=["load", "loaded_at", "loaded_by"])
    return there


def _washed(load: Load, tray: Tray, by: Person, now: datetime, forecast: Forecast) -> Tray:
    last = Wash.objects.filter(tray=tray, seq=tray.seq).select_related("load__machine").last()
    if tray.stage == Stage.CLEANING:
        if last is not None and last.load.state in UNDER_WAY:
            raise TrayRefused("in_other_load", tray=tray.code, load=str(last.load))
        there = tray  # It was not washed yet, or its load failed: it stays where it is.
    else:
        there = take_tray_to(
            tray=tray, stage=Stage.CLEANING, by=by, now=now, forecast=forecast, station=str(load)
        )
    Wash.objects.create(load=load, tray=there, seq=there.seq, at=now, by=by.user)
    return there


@transaction.atomic
def take_out_of_load(*, load: Load, tray: Tray, by: Person, now: datetime) -> None:
    """What was put in by mistake; before the start only.  TrayRefused: load_state, not_here."""
    load = locked_load(load, by, LoadState.OPEN, doing="taking trays out")
    there = here(tray, by)
    if load.machine.kind == MachineKind.WASHER:
        taken, _ = Wash.objects.filter(load=load, tray=there).delete()
    else:
        nothing = {"load": None, "loaded_at": None, "loaded_by": None}
        taken = Pack.objects.filter(load=load, tray=there, last_seq=None).update(**nothing)
    if not taken:
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing="being taken out",
            wanted=f"in load {load}",
        )


@transaction.atomic
def start_load(
    *,
    load: Load,
    by: Person,
    now: datetime,
    forecast: Forecast,
    cycle: str = "",
    has_implants: bool = False,
) -> Load:
    """The machine is started.  A steriliser's packs are sterilising from now on; a load with
    implants in it waits for its biological indicator, and a tray with screws or cables that are
    filled up has some, whatever was said.  KeyError for an unknown `cycle`.

    TrayRefused: load_state, load_empty, machine_down.
    """
    load = locked_load(load, by, LoadState.OPEN, doing="starting it")
    machine = load.machine
    if machine.down_since is not None:
        raise TrayRefused("machine_down", machine=machine.code, reason=machine.down_reason)
    inside = trays_in(load)
    if not inside:
        raise TrayRefused("load_empty", load=str(load))
    if machine.kind == MachineKind.STERILISER:
        load.cycle = CYCLES[cycle].slug
        load.has_implants = has_implants or has_implants_in_trays(load)
        if load.has_implants:
            load.biological = Biological.AWAITED
        for tray in inside:
            move_tray(
                tray=tray,
                stage=Stage.STERILISING,
                by=by,
                now=now,
                ready_at=forecast(tray, Stage.STERILISING),
                station=str(load),
            )
    load.state, load.started_at, load.started_by = LoadState.RUNNING, now, by.user
    load.save()
    return load


def has_implants_in_trays(load: Load) -> bool:
    """Whether a tray of the load has a line on its sheet that is filled up.  One query."""
    of_load = Content.objects.filter(version__in=load.packs.values("tray__version"))
    return of_load.filter(instrument__refilled=True).exists()


@transaction.atomic
def close_load(
    *,
    load: Load,
    passed: bool,
    by: Person,
    now: datetime,
    forecast: Forecast,
    measured: Measured | None = None,
    said: str = "",
) -> Load:
    """A person's entry: the cycle passed, or it failed.

    A steriliser's packs then await release, or are held: none can be used before it has gone
    through again.  TrayRefused: load_state, values_missing, deviation_unexplained (a pass in
    spite of a deviation says why).
    """
    load = locked_load(load, by, LoadState.RUNNING, doing="closing it")
    said = said.strip()[:200]
    is_steriliser = load.machine.kind == MachineKind.STERILISER
    if is_steriliser:
        if passed and measured is None:
            raise TrayRefused("values_missing", load=str(load))
        if measured is not None:
            load.lowest_celsius = measured.lowest_celsius
            load.highest_celsius = measured.highest_celsius
            load.held_minutes = measured.minutes
            load.deviations = list(deviations(CYCLES[load.cycle], measured))
        if passed and load.deviations and not said:
            raise TrayRefused(
                "deviation_unexplained", load=str(load), deviations=list(load.deviations)
            )
        for tray in trays_in(load):
            if tray.stage != Stage.STERILISING:
                continue  # Held meanwhile: it stays held.
            if passed:
                move_tray(
                    tray=tray,
                    stage=Stage.AWAITING_RELEASE,
                    by=by,
                    now=now,
                    ready_at=forecast(tray, Stage.AWAITING_RELEASE),
                    station=str(load),
                )
            else:
                hold_for(tray=tray, kind=HoldKind.LOAD, note=f"{load} failed", by=by, now=now)
    good = LoadState.AWAITING_RELEASE if is_steriliser else LoadState.PASSED
    load.state = good if passed else LoadState.FAILED
    load.closed_at, load.closed_by, load.said = now, by.user, said
    load.save()
    return load
