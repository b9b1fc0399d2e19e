"""How long the trace of one load takes in a house with 100,000 packs.

Not one of the tests that always run; asked for by name:

    deploy/test tests/benchmarks/trace_of_a_load.py -s

12,500 loads of eight packs, each issued to its case and opened; then one is traced, as rows and
as the page.  What there is many of is copied inside the database from one row of its kind.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime

from django.db import connection
from django.db.models import Model
from django.test import Client
from django.urls import reverse

from deploy.kit import guards
from deploy.kit.models import Person, Site
from scheduling.models import Case
from scheduling.sterile.trace import Traced, trace
from tests import factories
from trays.models import Load, LoadState, Machine, Pack, TrayMove, TrayMovement
from trays.stages import Stage

PACKS, A_LOAD, TRAYS = 100_000, 8, 500
LOADS, ROUNDS = PACKS // A_LOAD, PACKS // TRAYS
BEGIN = datetime(2020, 1, 6, 7, 0, tzinfo=UTC)
AIM_SECONDS = 1.0
TRIES = 5


def fill(site: Site) -> Load:
    """The house; the last load.  Turn after turn each tray is packed, issued and opened."""
    someone = factories.person(site, "someone", "sterile services").user
    version = factories.configuration(site)
    trays = [factories.tray(version, f"BASE/{n:03}", asset=f"0299999B{n}") for n in range(TRAYS)]
    machine = Machine.objects.create(
        site=site, code="S1", kind="steriliser", places=A_LOAD, cycle_minutes=60
    )
    Load.objects.create(
        machine=machine,
        number=1,
        state=LoadState.RELEASED,
        cycle="134",
        opened_at=BEGIN,
        opened_by=someone,
        released_at=BEGIN,
        released_by=someone,
    )
    factories.case(site, "C1", start=BEGIN)
    Pack.objects.bulk_create(
        Pack(tray=tray, number=1, first_seq=2, last_seq=4, packed_at=BEGIN) for tray in trays
    )
    issue = TrayMove.objects.get(from_state=Stage.STERILE_STORE, to_state=Stage.ISSUED)
    enter = TrayMove.objects.get(from_state=Stage.ISSUED, to_state=Stage.IN_THEATRE)
    guards.lift(connection)  # What is measured is the reading.
    TrayMovement.objects.bulk_create(
        TrayMovement(
            tray=tray, seq=seq, move=move, at=BEGIN, day=BEGIN.date(), by=someone, case_ref="C1"
        )
        for tray in trays
        for seq, move in ((2, issue), (3, enter))
    )
    copy(Load, LOADS, number="number + turn")
    copy(Case, LOADS, ref="'C' || (turn + 1)")
    copy(Pack, ROUNDS, number="number + turn", first_seq="2 + 2 * turn", last_seq="4 + 2 * turn")
    first = trays[0].pk

    def load_of(turn: str) -> str:
        return f"({turn} * {TRAYS} + tray_id - {first}) / {A_LOAD} + 1"

    case_of = "'C' || ({})".format
    copy(
        TrayMovement,
        ROUNDS,
        only="seq > 1",
        seq="seq + 2 * turn",
        case_ref=case_of(load_of("turn")),
    )
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE trays_traymovement SET case_ref = {case_of(load_of('0'))} WHERE seq IN (2, 3)"
        )
        cursor.execute(
            "UPDATE trays_pack SET load_id = (SELECT l.id FROM trays_load l "
            f"WHERE l.machine_id = %s AND l.number = {load_of('(trays_pack.number - 1)')})",
            [machine.pk],
        )
        cursor.execute("UPDATE trays_pack SET last_seq = NULL WHERE number = %s", [ROUNDS])
        cursor.execute("ANALYZE")
    guards.install(connection)
    return Load.objects.get(number=LOADS)


def copy(model: type[Model], times: int, *, only: str = "TRUE", **changed: str) -> None:
    """Have each row `times` times, the copies with `changed` columns; `turn` counts them."""
    fields = model._meta.concrete_fields
    columns = [field.column for field in fields if not field.primary_key]
    values = [changed.get(column, column) for column in columns]
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {model._meta.db_table} ({', '.join(columns)}) "
            "WITH RECURSIVE turns(turn) AS (SELECT 1 UNION ALL SELECT turn + 1 FROM turns "
            f"WHERE turn < {times - 1}) SELECT {', '.join(values)} "
            f"FROM turns CROSS JOIN {model._meta.db_table} WHERE {only}"
        )


def slowest(what: str, of: Callable[[], object]) -> float:
    """Seconds on the clock."""
    times = []
    for _ in range(TRIES):
        wall, processor = time.perf_counter(), time.process_time()
        of()
        times.append((time.perf_counter() - wall, time.process_time() - processor))
    wall, processor = max(times)
    print(f"{what}: {wall * 1000:.1f} ms, {processor * 1000:.1f} ms of the processor, at most")
    return wall


def test_one_load_of_a_hundred_thousand_packs_in_under_a_second(
    site: Site, sterile_services: Person, client_of: Callable[[Person], Client]
) -> None:
    load = fill(site)
    assert (Pack.objects.count(), Case.objects.count()) == (PACKS, LOADS)
    print(f"\n{PACKS:,} packs, load {load}, {connection.vendor}")
    page = reverse("load_trace", args=[load.pk])
    browser = client_of(sterile_services)
    assert b"C12500" in browser.get(page).content
    assert slowest("rows", lambda: trace(load, site)) < AIM_SECONDS
    assert slowest("page", lambda: browser.get(page)) < AIM_SECONDS
    traced: list[Traced] = trace(load, site)
    assert len(traced) == A_LOAD
    assert [[use.case for use in pack.uses] for pack in traced] == [["C12500"]] * A_LOAD
    assert all(pack.opened and pack.uses[0].case_pk for pack in traced)
