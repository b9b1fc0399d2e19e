from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from deploy.kit.errors import MoveRefused
from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from tests.trays.operations.conftest import SOON
from trays.errors import TrayRefused
from trays.hold_kinds import HoldKind
from trays.models import Tray
from trays.operations.bench import take_tray_to
from trays.operations.holds import hold_for, lift_by_name
from trays.stages import Stage


@pytest.fixture
def tray(site: Site) -> Tray:
    return factories.tray(factories.configuration(site))


def test_rejected_at_the_point_of_use_its_clock_starts_anew(
    tray: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    hold = hold_for(tray=tray, kind=HoldKind.WET, note="corner", **who)
    tray.refresh_from_db()
    assert (hold.case_ref, tray.stage, tray.ready_at) == ("C1", "quarantine", None)
    lifted = lift_by_name(tray=tray, note="wrap thrown away", **acts)
    hold.refresh_from_db()
    assert (lifted.stage, lifted.ready_at) == ("cleaning", SOON)
    assert (hold.lifted_by, hold.lifted_note) == (who["by"].user, "wrap thrown away")


def test_a_repair_says_when_it_should_be_back(tray: Tray, who: dict[str, Any]) -> None:
    hold = hold_for(tray=tray, kind=HoldKind.REPAIR, back_on=date(2027, 3, 5), **who)
    tray.refresh_from_db()
    assert (tray.stage, hold.back_on) == ("repair", date(2027, 3, 5))


def test_a_count_not_closed_is_lifted_by_name_and_with_a_reason_only(
    tray: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    take_tray_to(tray=tray, stage=Stage.ISSUED, case_ref="C1", **acts)
    take_tray_to(tray=tray, stage=Stage.RETURNED_USED, **acts)
    hold_for(tray=tray, kind=HoldKind.COUNT, note="a clamp short", **who)
    with pytest.raises(TrayRefused, match="in quarantine: count not closed: a clamp short"):
        take_tray_to(tray=tray, stage=Stage.CLEANING, **acts)
    with pytest.raises(TrayRefused, match="say why it may be used again"):
        lift_by_name(tray=tray, note=" ", **acts)
    lift_by_name(tray=tray, note="clamp found in the drape", **acts)
    assert tray.holds.get().lifted_by == who["by"].user


def test_a_held_tray_is_not_held_twice_nor_a_free_one_lifted(
    tray: Tray, acts: dict[str, Any], who: dict[str, Any]
) -> None:
    with pytest.raises(TrayRefused, match="is in the sterile store, not on hold"):
        lift_by_name(tray=tray, note="why", **acts)
    hold_for(tray=tray, kind=HoldKind.HOLE, **who)
    with pytest.raises(TrayRefused, match=r"is on hold \(quarantine\) already"):
        hold_for(tray=tray, kind=HoldKind.WET, **who)


def test_refuses_the_stranger_and_an_old_form(
    tray: Tray, who: dict[str, Any], stranger: Person
) -> None:
    with pytest.raises(TrayRefused, match="belongs to another site"):
        hold_for(tray=tray, kind=HoldKind.WET, by=stranger, now=NOW)
    with pytest.raises(MoveRefused, match="changed by someone else"):
        hold_for(tray=tray, kind=HoldKind.WET, seq=0, **who)
