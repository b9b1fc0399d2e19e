"""Wrap a counted tray: the pack that a label names and a steriliser takes."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.forecast import Forecast
from trays.models import Pack, Tray
from trays.operations.bench import here
from trays.operations.counts import closed_count
from trays.operations.moves import move_tray
from trays.stages import Stage, stands


@transaction.atomic
def pack_tray(
    *,
    tray: Tray,
    by: Person,
    now: datetime,
    forecast: Forecast,
    weight_grams: int | None = None,
    indicator: str = "",
    seq: int | None = None,
) -> Pack:
    """The tray in its wrap, with what its label says is missing.

    TrayRefused: already, not_here, count_missing.  A pack that is too heavy is
    warned of, not refused.
    """
    there = here(tray, by, seq)
    if there.stage == Stage.PACKED:
        raise TrayRefused("already", tray=there.code, stage=there.stage)
    if there.stage != Stage.ASSEMBLY:
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing="packing",
            wanted=stands(Stage.ASSEMBLY),
        )
    if closed_count(there) is None:
        raise TrayRefused("count_missing", tray=there.code)
    packed = move_tray(
        tray=there, stage=Stage.PACKED, by=by, now=now, ready_at=forecast(there, Stage.PACKED)
    )
    before = Pack.objects.filter(tray=there).order_by("-number").first()
    if before is not None and before.last_seq is None:
        before.last_seq = packed.seq
        before.save(update_fields=["last_seq"])
    lines = there.missing_lines.values_list("instrument__ref", "quantity")
    return Pack.objects.create(
        tray=there,
        number=before.number + 1 if before else 1,
        first_seq=packed.seq,
        packed_at=now,
        packed_by=by.user,
        weight_grams=weight_grams,
        indicator=indicator.strip()[:64],
        shortages=dict(lines),
    )


def present_pack(tray: Tray) -> Pack | None:
    """The pack that the tray is, or was last.  One query."""
    return Pack.objects.filter(tray=tray, last_seq=None).select_related("load__machine").first()
