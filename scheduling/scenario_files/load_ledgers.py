"""The first movement of everything that a scenario states.

After the reservations: a box that was promised and then put on hold stays promised, and the
database refuses to promise one that is on hold already.
"""

from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.models import Site
from implants.models import Unit, UnitMove, UnitMovement
from implants.states import Kind as UnitKind
from implants.states import UnitState
from scheduling.coverage import values
from scheduling.coverage.values import Scenario
from scheduling.scenario_files.load_stock import stage_of
from trays.ledger import Kind as TrayKind
from trays.models import Tray, TrayMove, TrayMovement

BATCH = 1_000


def load_ledgers(
    site: Site, scenario: Scenario, trays: Mapping[str, Tray], units: Mapping[str, Unit]
) -> None:
    """Every tray and box enters as the file states it, at its `now`.  Nobody acts."""
    now = scenario.site.now
    entry = {"seq": 1, "at": now, "day": site.local(now).date()}
    to_stage = {move.to_state: move for move in TrayMove.objects.filter(kind=TrayKind.LOAD)}
    TrayMovement.objects.bulk_create(
        (
            TrayMovement(
                tray=trays[one.code],
                move=to_stage[stage_of(one, now)],
                # On site without a time is ready now; the files that are read always say one.
                ready_at=None if one.withdrawn or one.arrives else one.ready or now,
                expected_at=one.arrives,
                sterile_until=one.sterile_until,
                **entry,
            )
            for one in scenario.trays.values()
        ),
        batch_size=BATCH,
    )
    to_state = {move.to_state: move for move in UnitMove.objects.filter(kind=UnitKind.LOAD)}
    UnitMovement.objects.bulk_create(
        (
            UnitMovement(
                unit=units[one.code],
                move=to_state[state_of(one)],
                reason=one.hold,
                hold=one.hold,
                expected_at=one.arrives,
                **entry,
            )
            for one in scenario.shelf.values()
        ),
        batch_size=BATCH,
    )


def state_of(unit: values.Unit) -> UnitState:
    """The state that says the same: a file does not know of whose doing a hold is."""
    if unit.hold:
        return UnitState.QUARANTINE
    return UnitState.AWAITED if unit.arrives else UnitState.ON_THE_SHELF
