"""Hold a tray for a reason of the table, and lift the hold by name.  Each is one transaction."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.forecast import Forecast
from trays.hold_kinds import HoldKind, stage_of_hold
from trays.models import Hold, Tray
from trays.operations.bench import here
from trays.operations.moves import lift_hold, move_tray
from trays.stages import HELD_STAGES, Stage


@transaction.atomic
def hold_for(
    *,
    tray: Tray,
    kind: HoldKind,
    by: Person,
    now: datetime,
    note: str = "",
    back_on: date | None = None,
    seq: int | None = None,
) -> Hold:
    """Nobody uses the tray until a named person lifts the hold; its clock starts anew then.

    `back_on`: when a repair should be back.  TrayRefused: elsewhere, already (it is held).
    """
    there = here(tray, by, seq)
    if there.stage in HELD_STAGES:
        raise TrayRefused("already", tray=there.code, stage=f"on hold ({there.stage})")
    note = note.strip()[:80]
    move_tray(
        tray=there,
        stage=stage_of_hold(kind),
        by=by,
        now=now,
        reason=f"{kind.value}: {note}" if note else kind.value,
        case_ref=there.case_ref,
    )
    return note_hold(tray=there, kind=kind, by=by, now=now, note=note, back_on=back_on)


def note_hold(
    *,
    tray: Tray,
    kind: HoldKind,
    by: Person,
    now: datetime,
    note: str = "",
    back_on: date | None = None,
) -> Hold:
    """Why a tray that is on hold is: part of the transaction that brought it there."""
    # A hold that another way out of the stage left open is over.
    Hold.objects.filter(tray=tray, lifted_at=None).update(lifted_at=now, lifted_by=by.user)
    return Hold.objects.create(
        tray=tray,
        kind=kind,
        note=note,
        case_ref=tray.case_ref,
        back_on=back_on,
        at=now,
        by=by.user,
    )


@transaction.atomic
def lift_by_name(
    *,
    tray: Tray,
    note: str,
    by: Person,
    now: datetime,
    forecast: Forecast,
    seq: int | None = None,
) -> Tray:
    """The hold is over: the tray goes to cleaning and through the whole cycle.

    `note` says why it may: for a count, where the pieces were found.  TrayRefused: elsewhere,
    not_held, lift_reason_missing.
    """
    there = here(tray, by, seq)
    if there.stage not in HELD_STAGES:
        raise TrayRefused("not_held", tray=there.code, stage=there.stage)
    note = note.strip()[:120]
    if not note:
        raise TrayRefused("lift_reason_missing", tray=there.code)
    lifted = {"lifted_at": now, "lifted_by": by.user, "lifted_note": note}
    Hold.objects.filter(tray=there, lifted_at=None).update(**lifted)
    there.ready_at = None
    return lift_hold(tray=there, ready_at=forecast(there, Stage.CLEANING), by=by, now=now)
