"""Load → packs → places → cases, in one query that does not grow."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection

from deploy.kit.models import Person, Site
from scheduling.sterile.trace import trace, trace_rows
from tests import factories
from tests.factories import NOW
from tests.trays.operations.conftest import is_counted
from trays.errors import TrayRefused
from trays.holding import CYCLES, Measured
from trays.models import Incident, Load, Machine, MachineKind, Tray
from trays.operations.bench import take_tray_to
from trays.operations.incidents import close_incident
from trays.operations.loads import close_load, open_load, put_into_load, start_load
from trays.operations.moves import move_tray
from trays.operations.packing import pack_tray
from trays.operations.release import release_load, withdraw_load
from trays.stages import Stage


@pytest.fixture
def acts(sterile_services: Person) -> dict[str, Any]:
    soon = NOW + timedelta(hours=6)
    return {"by": sterile_services, "now": NOW, "forecast": lambda tray, stage: soon}


@pytest.fixture
def load(site: Site, acts: dict[str, Any]) -> Load:
    """A released load: BASE/1 issued, BASE/2 opened, BASE/3 in the store."""
    machine = Machine.objects.create(
        site=site, code="S1", kind=MachineKind.STERILISER, places=4, cycle_minutes=60
    )
    version = factories.configuration(site)
    who = {name: acts[name] for name in ("by", "now")}
    load = open_load(machine=machine, **who)
    trays = [
        factories.tray(version, f"BASE/{n}", stage=Stage.ASSEMBLY, ready_at=NOW, location=f"R{n}")
        for n in (1, 2, 3)
    ]
    for tray in trays:
        pack_tray(tray=is_counted(tray), **acts)
        put_into_load(load=load, tray=tray, **acts)
    load = start_load(load=load, cycle="134", **acts)
    good = Measured(CYCLES["134"].celsius, CYCLES["134"].celsius, CYCLES["134"].minutes)
    load = close_load(load=load, passed=True, measured=good, **acts)
    load = release_load(load=load, **who)
    for tray, case in zip(trays, ("C1", "C2"), strict=False):
        factories.case(site, case, theatre=site.theatres.get_or_create(code="Theatre 1")[0])
        take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref=case, **acts)
    take_tray_to(tray=trays[1], stage=Stage.IN_THEATRE, **acts)
    return load


def test_each_pack_with_its_place_and_its_cases(
    load: Load, site: Site, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        packs = trace(load, site)
    assert [(pack.tray, pack.stage, pack.location) for pack in packs] == [
        ("BASE/1", "issued", "issued to case C1, Theatre 1"),
        ("BASE/2", "in theatre", ""),
        ("BASE/3", "sterile store", "R3"),
    ]
    assert [[(use.case, use.opened) for use in pack.uses] for pack in packs] == [
        [("C1", False)],
        [("C2", True)],
        [],
    ]
    assert all(use.case_pk for pack in packs for use in pack.uses)


def test_of_a_withdrawn_load_the_wrapped_ones_are_to_be_retrieved(
    load: Load, site: Site, sterile_services: Person
) -> None:
    withdraw_load(load=load, reason="recalled", by=sterile_services, now=NOW)
    packs = trace(load, site)
    assert [pack.tray for pack in packs if pack.to_retrieve] == ["BASE/1", "BASE/3"]
    assert [pack.tray for pack in packs if pack.opened] == ["BASE/2"]
    # The pack on the trolley is not on the shelf that it left.
    assert [pack.location for pack in packs] == ["issued to case C1, Theatre 1", "", "R3"]
    assert packs[0].uses[0].case == "C1"
    incident = Incident.objects.get()
    assert (incident.pack.tray.code, incident.case_ref) == ("BASE/2", "C2")
    who: dict[str, Any] = {"incident": incident, "by": sterile_services, "now": NOW}
    with pytest.raises(TrayRefused, match="say what was done about it"):
        close_incident(outcome=" ", **who)
    assert close_incident(outcome="surgeon told", **who).closed_by == sterile_services.user
    with pytest.raises(TrayRefused, match="closed already"):
        close_incident(outcome="again", **who)


def test_what_failed_before_its_release_is_where_it_was_unloaded(
    load: Load, site: Site, acts: dict[str, Any]
) -> None:
    who = {name: acts[name] for name in ("by", "now")}
    later = open_load(machine=load.machine, **who)
    tray = factories.tray(
        factories.configuration(site, "CUP"), "CUP/1", stage=Stage.ASSEMBLY, ready_at=NOW
    )
    Tray.objects.filter(pk=tray.pk).update(location="R9")
    pack_tray(tray=is_counted(tray), **acts)
    put_into_load(load=later, tray=tray, **acts)
    later = start_load(load=later, cycle="134", **acts)
    good = Measured(CYCLES["134"].celsius, CYCLES["134"].celsius, CYCLES["134"].minutes)
    later = close_load(load=later, passed=True, measured=good, **acts)
    withdraw_load(load=later, reason="wet", **who)
    later.refresh_from_db()
    (pack,) = trace(later, site)
    assert (pack.location, pack.to_retrieve) == ("unloaded from S1", True)


def test_a_pack_that_was_opened_long_ago_is_an_incident_too(
    load: Load, acts: dict[str, Any], sterile_services: Person
) -> None:
    """And what the tray did as another pack is none of this load's."""
    tray = Tray.objects.get(code="BASE/2")
    for stage in (Stage.RETURNED_USED, Stage.CLEANING):
        take_tray_to(tray=tray, stage=stage, **acts)
    tray.refresh_from_db()
    move_tray(tray=tray, stage=Stage.ASSEMBLY, ready_at=NOW, by=sterile_services, now=NOW)
    tray.refresh_from_db()
    pack_tray(tray=is_counted(tray), **acts)
    withdraw_load(load=load, reason="recalled", by=sterile_services, now=NOW)
    assert Incident.objects.get().pack.number == 1


def test_a_later_pack_of_the_tray_is_another_loads(
    load: Load, site: Site, acts: dict[str, Any]
) -> None:
    tray = Tray.objects.get(code="BASE/3")
    take_tray_to(tray=tray, stage=Stage.ASSEMBLY, **acts)
    tray.refresh_from_db()
    pack_tray(tray=is_counted(tray), **acts)
    factories.case(site, "C9")
    later = trace(load, site)[2]
    assert (later.present, later.uses, later.to_retrieve) == (False, (), False)


def test_finds_packs_and_movements_by_index(load: Load) -> None:
    """However many rows there are: PostgreSQL is kept from reading a small table through."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    plan = trace_rows(load).explain()
    assert "Index" in plan or "INDEX" in plan
    assert "Seq Scan" not in plan
    assert "SCAN" not in plan
