from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from tests.trays.operations.conftest import SOON
from trays.errors import TrayRefused
from trays.models import Machine, Tray
from trays.operations.bench import put_tray_at, take_tray_to
from trays.operations.loads import close_load, open_load, put_into_load, start_load
from trays.stages import Stage


@pytest.fixture
def tray(site: Site) -> Tray:
    return factories.tray(factories.configuration(site))


def test_moves_on_and_what_is_sterile_stays_as_ready_as_it_was(
    tray: Tray, acts: dict[str, Any]
) -> None:
    issued = take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    assert (issued.stage, issued.case_ref, issued.ready_at) == ("issued", "C1", NOW)
    inside = take_tray_to(tray=tray, stage=Stage.IN_THEATRE, **acts)
    assert (inside.stage, inside.case_ref) == ("in theatre", "C1")
    back = take_tray_to(tray=tray, stage=Stage.RETURNED_USED, reason="box was open", **acts)
    assert (back.stage, back.case_ref, back.ready_at) == ("returned used", "C1", SOON)
    assert tray.movements.get(seq=4).reason == "box was open"


def test_what_comes_back_was_in_theatre_whether_or_not_it_was_scanned_there(
    tray: Tray, acts: dict[str, Any]
) -> None:
    take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    back = take_tray_to(tray=tray, stage=Stage.RETURNED_USED, **acts)
    states = list(tray.movements.values_list("move__to_state", flat=True))
    assert states == ["sterile store", "issued", "in theatre", "returned used"]
    assert back.case_ref == "C1"


def test_says_where_it_is_and_where_it_would_have_to_be(tray: Tray, acts: dict[str, Any]) -> None:
    with pytest.raises(TrayRefused) as refused:
        take_tray_to(tray=tray, stage=Stage.CLEANING, **acts)
    assert refused.value.say() == (
        "Tray BASE/1 is in the sterile store; for cleaning it has to be returned used or at "
        "cleaning or at inspection and assembly."
    )


def test_what_is_past_its_sterile_date_is_not_issued(tray: Tray, acts: dict[str, Any]) -> None:
    old = factories.tray(tray.version, "BASE/8", sterile_until=acts["now"] - timedelta(minutes=1))
    with pytest.raises(TrayRefused, match=r"BASE/8 was sterile until .* sterilised again first"):
        take_tray_to(tray=old, stage=Stage.ISSUED, case_ref="C1", **acts)
    last = factories.tray(tray.version, "BASE/9", sterile_until=acts["now"])
    assert take_tray_to(tray=last, stage=Stage.ISSUED, case_ref="C1", **acts).case_ref == "C1"


def test_the_same_scan_twice_changes_nothing(tray: Tray, acts: dict[str, Any]) -> None:
    take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    with pytest.raises(TrayRefused, match="is issued already"):
        take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    with pytest.raises(TrayRefused, match="Tray BASE/1 is issued to C1"):
        take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C2", **acts)
    assert tray.movements.count() == 2


def test_a_scan_neither_sterilises_nor_releases(site: Site, acts: dict[str, Any]) -> None:
    version = factories.configuration(site)
    waiting = factories.tray(version, stage=Stage.AWAITING_RELEASE, ready_at=SOON)
    for stage in (Stage.STERILE_STORE, Stage.STERILISING, Stage.PACKED):
        with pytest.raises(TrayRefused):
            take_tray_to(tray=waiting, stage=stage, **acts)


def test_nothing_is_assembled_whose_wash_has_not_passed(
    site: Site, washer: Machine, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    used = factories.tray(factories.configuration(site), stage=Stage.RETURNED_USED, ready_at=SOON)
    load = open_load(machine=washer, **who)
    put_into_load(load=load, tray=used, **acts)
    start_load(load=load, **acts)
    with pytest.raises(TrayRefused, match="is in load W1-1, which is running"):
        take_tray_to(tray=used, stage=Stage.ASSEMBLY, **acts)
    close_load(load=load, passed=True, **acts)
    assert take_tray_to(tray=used, stage=Stage.ASSEMBLY, **acts).stage == "inspection and assembly"
    take_tray_to(tray=used, stage=Stage.CLEANING, **acts)
    with pytest.raises(TrayRefused, match="No washer load is recorded"):
        take_tray_to(tray=used, stage=Stage.ASSEMBLY, **acts)


def test_is_put_at_a_place(tray: Tray, who: dict[str, Any]) -> None:
    assert put_tray_at(tray=tray, place=" R-01-2 ", **who).location == "R-01-2"
    with pytest.raises(TrayRefused, match="Say the place first"):
        put_tray_at(tray=tray, place=" ", **who)


def test_refuses_the_stranger(tray: Tray, stranger: Person, acts: dict[str, Any]) -> None:
    with pytest.raises(TrayRefused, match="Tray BASE/1 belongs to another site"):
        take_tray_to(tray=tray, stage=Stage.ISSUED, **{**acts, "by": stranger})
