from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from tests.trays.operations.conftest import SOON, is_counted
from trays.errors import TrayRefused
from trays.holding import Measured
from trays.models import Instrument, Load, LoadState, Machine, Tray
from trays.operations.bench import take_tray_to
from trays.operations.counts import begin_count, close_count, say_line
from trays.operations.loads import (
    close_load,
    open_load,
    put_into_load,
    start_load,
    take_out_of_load,
)
from trays.operations.moves import move_tray
from trays.operations.packing import pack_tray, present_pack
from trays.operations.release import read_indicator, release_load, withdraw_load
from trays.stages import Stage

GOOD = Measured(Decimal("134.3"), Decimal("135.6"), Decimal("3.5"))
SHORT = Measured(Decimal("134.3"), Decimal("135.6"), Decimal("2.5"))


@pytest.fixture
def packed(counted: Tray, acts: dict[str, Any]) -> Tray:
    pack_tray(tray=counted, weight_grams=9_500, indicator="class 5", **acts)
    return counted


@pytest.fixture
def running(steriliser: Machine, packed: Tray, acts: dict[str, Any], who: dict[str, Any]) -> Load:
    load = open_load(machine=steriliser, **who)
    put_into_load(load=load, tray=packed, **acts)
    return start_load(load=load, cycle="134", **acts)


@pytest.fixture
def awaiting(running: Load, acts: dict[str, Any]) -> Load:
    return close_load(load=running, passed=True, measured=GOOD, **acts)


def stage_of(tray: Tray) -> str:
    tray.refresh_from_db()
    return tray.stage


def test_a_pack_says_what_is_missing_and_the_one_before_ends(
    counted: Tray, acts: dict[str, Any]
) -> None:
    instrument = counted.version.contents.get().instrument
    counted.missing_lines.create(instrument=instrument, quantity=1)
    first = pack_tray(tray=counted, weight_grams=12_000, **acts)
    assert (first.number, first.first_seq, first.shortages) == (1, 2, {"REAM-12": 1})
    take_tray_to(tray=counted, stage=Stage.ASSEMBLY, **acts)
    counted.missing_lines.all().delete()
    counted.refresh_from_db()
    with pytest.raises(TrayRefused, match="count sheet of tray BASE/1 is not closed yet"):
        pack_tray(tray=counted, **acts)
    is_counted(counted)
    second = pack_tray(tray=counted, **acts)
    first.refresh_from_db()
    assert (second.number, second.shortages, first.last_seq) == (2, {}, second.first_seq)
    with pytest.raises(TrayRefused, match="is packed already"):
        pack_tray(tray=counted, **acts)


def test_a_load_goes_from_open_to_released_by_people_alone(
    awaiting: Load, packed: Tray, who: dict[str, Any]
) -> None:
    assert (awaiting.state, stage_of(packed)) == ("awaiting release", "awaiting release")
    released = release_load(load=awaiting, **who)
    assert (released.state, released.released_by) == ("released", who["by"].user)
    assert (stage_of(packed), packed.ready_at) == ("sterile store", NOW)


def test_takes_no_more_than_its_places_and_nothing_twice(
    steriliser: Machine, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    steriliser.places = 1
    steriliser.save()
    load = open_load(machine=steriliser, **who)
    assert open_load(machine=steriliser, **who) == load
    put_into_load(load=load, tray=packed, **acts)
    with pytest.raises(TrayRefused, match="in load S1-1 already"):
        put_into_load(load=load, tray=packed, **acts)
    other = factories.tray(packed.version, "BASE/2", stage=Stage.ASSEMBLY, ready_at=SOON)
    pack_tray(tray=is_counted(other), **acts)
    with pytest.raises(TrayRefused, match="S1 takes 1 trays; load S1-1 is full"):
        put_into_load(load=load, tray=other, **acts)
    take_out_of_load(load=load, tray=packed, **who)
    put_into_load(load=load, tray=other, **acts)


def test_refuses_what_is_not_packed_and_a_load_that_runs(
    running: Load, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    with pytest.raises(TrayRefused, match="Load S1-1 is running: putting trays in"):
        put_into_load(load=running, tray=packed, **acts)
    with pytest.raises(TrayRefused, match="Load S1-1 is running: filling it is not possible"):
        open_load(machine=running.machine, **who)
    with pytest.raises(TrayRefused, match="Load S1-1 is running: releasing it is not possible"):
        release_load(load=running, **who)


def test_an_empty_load_and_a_machine_out_of_use_do_not_start(
    steriliser: Machine, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    load = open_load(machine=steriliser, **who)
    with pytest.raises(TrayRefused, match="Load S1-1 has nothing in it"):
        start_load(load=load, cycle="134", **acts)
    steriliser.down_since, steriliser.down_reason = NOW, "leaks"
    steriliser.save()
    with pytest.raises(TrayRefused, match="S1 is out of use: leaks"):
        start_load(load=load, cycle="134", **acts)


def test_a_pass_wants_the_values_and_in_spite_of_a_deviation_a_word(
    running: Load, acts: dict[str, Any]
) -> None:
    with pytest.raises(TrayRefused, match="measured values are to be entered first"):
        close_load(load=running, passed=True, **acts)
    with pytest.raises(TrayRefused, match=r"deviates \(held 2.5 min, at least 3 min wanted; F0"):
        close_load(load=running, passed=True, measured=SHORT, **acts)
    said = close_load(
        load=running, passed=True, measured=SHORT, said="chart misread, checked", **acts
    )
    assert said.deviations[0] == "held 2.5 min, at least 3 min wanted"
    assert said.said == "chart misread, checked"


def test_a_failed_load_is_held_and_cannot_be_released(
    running: Load, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    close_load(load=running, passed=False, said="door seal", **acts)
    assert stage_of(packed) == "quarantine"
    assert packed.movements.last().reason == "load failed or withdrawn: S1-1 failed"
    with pytest.raises(TrayRefused, match="Load S1-1 is failed: releasing it is not possible"):
        release_load(load=running, **who)


def test_a_load_with_implants_waits_for_its_biological_indicator(
    steriliser: Machine, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    load = open_load(machine=steriliser, **who)
    put_into_load(load=load, tray=packed, **acts)
    start_load(load=load, cycle="134", has_implants=True, **acts)
    close_load(load=load, passed=True, measured=GOOD, **acts)
    with pytest.raises(TrayRefused, match="biological indicator is not read yet"):
        release_load(load=load, **who)
    read_indicator(load=load, growth=True, **who)
    with pytest.raises(TrayRefused, match="shows growth"):
        release_load(load=load, **who)
    read_indicator(load=load, growth=False, **who)
    assert release_load(load=load, **who).state == LoadState.RELEASED


def test_a_withdrawn_load_is_held_wherever_its_packs_are(
    awaiting: Load, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    release_load(load=awaiting, **who)
    take_tray_to(tray=packed, stage=Stage.ISSUED, case_ref="C1", **acts)
    with pytest.raises(TrayRefused, match="say why it is withdrawn"):
        withdraw_load(load=awaiting, reason=" ", **who)
    withdrawn = withdraw_load(load=awaiting, reason="indicator growth", **who)
    assert withdrawn.state == LoadState.WITHDRAWN
    assert stage_of(packed) == "quarantine"
    pack = present_pack(packed)
    assert pack is not None
    assert pack.load == awaiting


def test_the_database_refuses_a_release_by_nobody(awaiting: Load) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.filter(pk=awaiting.pk).update(state=LoadState.RELEASED)


def test_nothing_is_released_or_used_beside_its_load(
    awaiting: Load, packed: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    """By the plain move that the set-up pages make, too."""
    with pytest.raises(TrayRefused, match="is in load S1-1, which is awaiting release"):
        move_tray(tray=packed, stage=Stage.STERILE_STORE, ready_at=NOW, **who)
    release_load(load=awaiting, **who)
    withdraw_load(load=awaiting, reason="recalled", **who)
    with pytest.raises(TrayRefused):
        take_tray_to(tray=packed, stage=Stage.ISSUED, **acts)


def test_refuses_the_stranger(
    awaiting: Load, steriliser: Machine, packed: Tray, stranger: Person
) -> None:
    with pytest.raises(TrayRefused, match="Load S1-1 belongs to another site"):
        release_load(load=awaiting, by=stranger, now=NOW)
    with pytest.raises(TrayRefused, match="Machine S1 belongs to another site"):
        open_load(machine=steriliser, by=stranger, now=NOW)


def test_a_tray_with_screws_that_are_filled_up_has_implants_whatever_was_said(
    site: Site, steriliser: Machine, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    screw = factories.instrument(site, "SCREW-35", role="screw")
    version = factories.configuration(site, contents={screw: 6})
    tray = factories.tray(version, stage=Stage.ASSEMBLY, ready_at=NOW)
    count = begin_count(tray=tray, **who)
    line: dict[str, Any] = {"count": count, "ref": "SCREW-35", "present": 6, **who}
    with pytest.raises(TrayRefused, match="is not one that is filled up"):
        say_line(refilled=4, replaced_by="LOT 77", **line)
    Instrument.objects.update(refilled=True)
    say_line(refilled=4, replaced_by="LOT 77", **line)
    close_count(count=count, **who)
    said = count.lines.get()
    assert (said.present, said.refilled, said.replaced_by) == (6, 4, "LOT 77")
    pack_tray(tray=tray, **acts)
    load = open_load(machine=steriliser, **who)
    put_into_load(load=load, tray=tray, **acts)
    load = start_load(load=load, cycle="134", has_implants=False, **acts)
    assert (load.has_implants, load.biological) == (True, "awaited")
