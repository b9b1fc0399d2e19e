"""Move trays through their stages.  Each is one transaction.

`seq` is the number of the tray's last movement that the person saw.  All raise MoveRefused as
`deploy.kit.movements.move_item` says.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Person
from deploy.kit.movements import move_item
from trays.errors import TrayRefused
from trays.ledger import TRAYS, Kind, kind_of
from trays.models import LoadState, Pack, Tray
from trays.stages import Stage


@transaction.atomic
def enter_tray(
    *,
    tray: Tray,
    stage: Stage,
    by: Person,
    now: datetime,
    ready_at: datetime | None = None,
    expected_at: datetime | None = None,
    sterile_until: datetime | None = None,
) -> Tray:
    """Save a new tray and enter it at a stage; the times as `move_tray` has them."""
    tray.save(force_insert=True)
    return move_tray(
        tray=tray,
        stage=stage,
        by=by,
        now=now,
        ready_at=ready_at,
        expected_at=expected_at,
        sterile_until=sterile_until,
    )


@transaction.atomic
def move_tray(
    *,
    tray: Tray,
    stage: Stage,
    by: Person,
    now: datetime,
    ready_at: datetime | None = None,
    expected_at: datetime | None = None,
    sterile_until: datetime | None = None,
    reason: str = "",
    case_ref: str = "",
    station: str = "",
    seq: int | None = None,
) -> Tray:
    """Take the tray to a stage that may follow, or give it other times at the one it is in.

    `ready_at`: when it is, or was, sterile and released; a stage on site has one.  `expected_at`:
    when a loan with its supplier should be here.  What is left out is empty from then on.
    """
    before = Tray.objects.values_list("stage", flat=True).get(pk=tray.pk)
    _in_a_good_load(tray, before, stage)
    return move_item(
        TRAYS,
        tray,
        to=stage,
        kind=Kind.ENTER if before == NOT_ENTERED else kind_of(Stage(before), stage),
        by=by,
        now=now,
        seq=seq,
        ready_at=ready_at,
        expected_at=expected_at,
        sterile_until=sterile_until,
        reason=reason,
        case_ref=case_ref,
        station=station,
    )


def lift_hold(
    *, tray: Tray, ready_at: datetime, by: Person, now: datetime, seq: int | None = None
) -> Tray:
    """Back into the cycle, from its beginning: what was on hold is cleaned and sterilised again.

    `ready_at`: when it should be through.
    """
    return move_tray(tray=tray, stage=Stage.CLEANING, ready_at=ready_at, by=by, now=now, seq=seq)


def _in_a_good_load(tray: Tray, before: str, stage: Stage) -> None:
    """A pack is released with its load, and not used where that failed; the database says so too.

    TrayRefused: load_not_passed.  One query, for these moves alone.
    """
    releases = (before, stage) == (Stage.AWAITING_RELEASE, Stage.STERILE_STORE)
    if not releases and stage not in (Stage.ISSUED, Stage.IN_THEATRE):
        return
    bad = (LoadState.FAILED, LoadState.WITHDRAWN)
    pack = Pack.objects.filter(tray=tray, last_seq=None).select_related("load__machine").first()
    load = pack.load if pack else None
    if load is None:
        return
    if load.state in bad or (releases and load.state != LoadState.RELEASED):
        raise TrayRefused("load_not_passed", tray=tray.code, load=str(load), state=load.state)
