"""What the rules of packs, loads and instruments refuse: name of the rule → the refused write."""

from __future__ import annotations

from collections.abc import Callable

from django.db import connection

from tests import factories
from tests.factories import NOW
from tests.negative_controls.house import House, entry
from trays.ledger import TRAYS
from trays.models import (
    InstrumentEntry,
    Load,
    LoadState,
    Machine,
    MachineKind,
    Pack,
    TrayMove,
    Way,
)
from trays.stages import Stage


def _in_a_load(house: House, state: LoadState, stage: Stage) -> Load:
    """The house's tray at the stage, as the pack of a load in that state; made once."""
    machine, _ = Machine.objects.get_or_create(
        site=house.site,
        code="S1",
        defaults={"kind": MachineKind.STERILISER, "places": 4, "cycle_minutes": 60},
    )
    load, is_new = Load.objects.get_or_create(
        machine=machine, number=1, defaults={"state": state, "opened_at": NOW}
    )
    if is_new:
        if stage != house.tray.stage:
            _move(house, stage, "trial")
        seq = house.tray.movements.count()
        Pack.objects.create(tray=house.tray, number=1, first_seq=seq, packed_at=NOW, load=load)
    return load


def _move(house: House, stage: Stage, kind: str) -> None:
    house.tray.refresh_from_db()
    move, _ = TrayMove.objects.get_or_create(from_state=house.tray.stage, to_state=stage, kind=kind)
    entry(house.tray, TRAYS, house.by, move)


def released_without_its_load(house: House) -> None:
    _in_a_load(house, LoadState.AWAITING_RELEASE, Stage.AWAITING_RELEASE)
    _move(house, Stage.STERILE_STORE, "move")


def issued_from_a_failed_load(house: House) -> None:
    _in_a_load(house, LoadState.FAILED, Stage.STERILE_STORE)
    _move(house, Stage.ISSUED, "move")


def opened_again(house: House) -> None:
    load = _in_a_load(house, LoadState.FAILED, Stage.STERILE_STORE)
    Load.objects.filter(pk=load.pk).update(state=LoadState.AWAITING_RELEASE)


def entry_with_sql(sql: str) -> Callable[[House], None]:
    """By SQL: the model refuses these by itself."""

    def attempt(house: House) -> None:
        InstrumentEntry.objects.create(
            instrument=factories.instrument(house.site, "R99"),
            way=Way.REPAIR,
            from_tray=house.tray,
            at=NOW,
            by=house.by.user,
        )
        with connection.cursor() as cursor:
            cursor.execute(sql)

    return attempt


CONTROLS: dict[str, Callable[[House], None]] = {
    "trays_instrument_entry_no_update": entry_with_sql(
        "UPDATE trays_instrumententry SET note = 'another'"
    ),
    "trays_instrument_entry_no_delete": entry_with_sql("DELETE FROM trays_instrumententry"),
    "trays_instrument_entry_no_truncate": entry_with_sql("TRUNCATE trays_instrumententry"),
    "trays_pack_released_with_its_load": released_without_its_load,
    "trays_pack_used_from_a_good_load": issued_from_a_failed_load,
    "trays_load_stays_failed": opened_again,
}
