"""The ledger of trays: the moves between the stages of `trays.stages`."""

from __future__ import annotations

from django.db import models

from deploy.kit.ledger import NOT_ENTERED, Ledger, Move
from trays.stages import Stage, may_follow


class Kind(models.TextChoices):
    """What happens to a tray."""

    LOAD = "load from a file"
    ENTER = "enter"
    MOVE = "move"
    TIME = "set its times"
    HOLD = "hold"
    LIFT = "lift the hold"


ON_HOLD = (Stage.QUARANTINE, Stage.REPAIR)
"""The holds that take a reason; a loan that is not here yet, or no longer, takes none."""


def kind_of(before: Stage, after: Stage) -> Kind:
    """What a step from one stage to another is."""
    if before == after:
        return Kind.TIME
    if after in ON_HOLD:
        return Kind.HOLD
    return Kind.LIFT if before in ON_HOLD else Kind.MOVE


MOVES = (
    *(Move(NOT_ENTERED, stage, Kind.LOAD, unsigned=True) for stage in Stage),
    *(Move(NOT_ENTERED, stage, Kind.ENTER) for stage in Stage),
    *(
        Move(before, after, kind := kind_of(before, after), reasoned=kind is Kind.HOLD)
        for before in Stage
        for after in Stage
        if may_follow(before, after)
    ),
)

TRAYS = Ledger(
    app="trays",
    item="tray",
    movement="traymovement",
    move="traymove",
    state="stage",
    texts=("case_ref",),
    moments=("ready_at", "expected_at", "sterile_until"),
    moves=MOVES,
)
