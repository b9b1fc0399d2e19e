"""How long the trace of one load takes in a house with 100,000 packs.

Not one of the tests that always run; asked for by name:

    deploy/test tests/benchmarks/trace_of_a_load.py -s

12,500 loads of eight packs, each issued to a case and opened; then one is traced.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

from django.db import connection

from deploy.kit import guards
from deploy.kit.models import Site
from scheduling.sterile.trace import trace
from tests import factories
from trays.models import Load, LoadState, Machine, Pack, TrayMove, TrayMovement
from trays.stages import Stage

PACKS, A_LOAD, TRAYS = 100_000, 8, 500
BEGIN = datetime(2020, 1, 6, 7, 0, tzinfo=UTC)
AIM_SECONDS = 1.0


def fill() -> Load:
    """The house; the last load."""
    site = Site.objects.create(code="ottermere", name="Ottermere General", clock_set_to=BEGIN)
    someone = factories.person(site, "someone", "sterile services").user
    version = factories.configuration(site)
    trays = [factories.tray(version, f"BASE/{n:03}", asset=f"0299999B{n}") for n in range(TRAYS)]
    machine = Machine.objects.create(
        site=site, code="S1", kind="steriliser", places=A_LOAD, cycle_minutes=60
    )
    loads = Load.objects.bulk_create(
        Load(
            machine=machine,
            number=number,
            state=LoadState.RELEASED,
            cycle="134",
            opened_at=BEGIN,
            opened_by=someone,
            released_at=BEGIN,
            released_by=someone,
        )
        for number in range(1, PACKS // A_LOAD + 1)
    )
    packs, movements = [], []
    issue = TrayMove.objects.get(from_state=Stage.STERILE_STORE, to_state=Stage.ISSUED)
    enter = TrayMove.objects.get(from_state=Stage.ISSUED, to_state=Stage.IN_THEATRE)
    rounds = PACKS // TRAYS
    for turn in range(rounds):
        at = BEGIN + timedelta(hours=9 * turn)
        for place, tray in enumerate(trays):
            first = 2 + 2 * turn
            last = first + 2 if turn + 1 < rounds else None
            packs.append(
                Pack(
                    tray=tray,
                    number=turn + 1,
                    first_seq=first,
                    last_seq=last,
                    packed_at=at,
                    load=loads[(turn * TRAYS + place) // A_LOAD],
                )
            )
            movements += [
                TrayMovement(
                    tray=tray,
                    seq=first + step,
                    move=move,
                    at=at,
                    day=at.date(),
                    by=someone,
                    case_ref=f"C{turn}-{place}",
                )
                for step, move in enumerate((issue, enter))
            ]
    guards.lift(connection)  # What is measured is the reading.
    Pack.objects.bulk_create(packs, batch_size=2000)
    TrayMovement.objects.bulk_create(movements, batch_size=2000)
    guards.install(connection)
    return loads[-1]


def test_one_load_of_a_hundred_thousand_packs_in_under_a_second(db: None) -> None:
    load = fill()
    begun = time.perf_counter()
    packs = trace(load, load.machine.site)
    took = time.perf_counter() - begun
    print(f"\n{PACKS:,} packs: trace of load {load} in {took * 1000:.1f} ms")
    assert len(packs) == A_LOAD
    assert all(pack.uses for pack in packs)
    assert took < AIM_SECONDS
