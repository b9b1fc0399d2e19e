"""The ledger of trays: the moves between the stages of `trays.stages`."""

from __future__ import annotations

from collections.abc import Iterator

from django.db import models

from deploy.kit.guards import Guard, added_only
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


NOT_RELEASED = "<> 'released'"
NO_GOOD = "IN ('failed', 'withdrawn')"


def guards() -> Iterator[Guard]:
    """What the database refuses of packs and loads, whatever the code above it does."""
    loads = (
        "trays_load WHERE id IN (SELECT p.load_id FROM trays_pack p "
        "WHERE p.tray_id = NEW.tray_id AND p.last_seq IS NULL)"
    )

    def in_a_load(state: str) -> str:
        return (
            "EXISTS (SELECT 1 FROM trays_pack p JOIN trays_load l ON l.id = p.load_id "
            f"WHERE p.tray_id = NEW.tray_id AND p.last_seq IS NULL AND l.state {state})"
        )

    def comes(to: str) -> str:
        return f"EXISTS (SELECT 1 FROM trays_traymove v WHERE v.id = NEW.move_id AND {to})"

    release = (
        f"v.from_state = '{Stage.AWAITING_RELEASE.value}' "
        f"AND v.to_state = '{Stage.STERILE_STORE.value}'"
    )
    use = f"v.to_state IN ('{Stage.ISSUED.value}', '{Stage.IN_THEATRE.value}')"
    yield Guard(
        name="trays_pack_released_with_its_load",
        table="trays_traymovement",
        before="INSERT",
        when=f"{comes(release)} AND {in_a_load(NOT_RELEASED)}",
        says="a pack is released with its load only",
        lock=loads,
    )
    yield Guard(
        name="trays_pack_used_from_a_good_load",
        table="trays_traymovement",
        before="INSERT",
        when=f"{comes(use)} AND {in_a_load(NO_GOOD)}",
        says="a pack of a failed or withdrawn load is not used",
        lock=loads,
    )
    yield Guard(
        name="trays_load_stays_failed",
        table="trays_load",
        before="UPDATE",
        when="OLD.state IN ('failed', 'withdrawn') AND NEW.state <> OLD.state",
        says="a load that failed stays failed",
    )
    yield from added_only(
        "trays_instrument_entry",
        "trays_instrumententry",
        says="an entry of an instrument is added, never changed",
    )
