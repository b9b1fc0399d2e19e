from __future__ import annotations

import pytest

from deploy.kit.errors import MoveRefused
from implants.models import Unit, UnitMovement
from implants.operations.holds import lift_quarantine, quarantine, recall
from implants.operations.theatre import pick_unit, record_implanted
from tests import factories
from tests.factories import NOW


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def units(site):
    implant = factories.implant(site)
    return [factories.unit(implant, f"U{number}", lot="L1") for number in range(3)]


def test_quarantine_and_its_lifting_by_two(units, who, manager):
    unit = quarantine(unit=units[0], reason="dropped", **who)
    assert (unit.state, unit.hold) == ("quarantine", "dropped")
    unit = lift_quarantine(unit=unit, reason="looked at", second=manager, **who)
    assert (unit.state, unit.hold) == ("on the shelf", "")


def test_a_recall_finds_a_box_wherever_it_is(units, who):
    pick_unit(unit=units[1], case_ref="C1", **who)
    quarantine(unit=units[2], reason="dropped", **who)
    recalled = recall(units=units, reason="recalled: lot L1", **who)
    assert {(one.state, one.hold) for one in recalled} == {("recalled", "recalled: lot L1")}
    # For whom it was picked is kept: that case must be told.
    assert [one.case_ref for one in recalled] == ["", "C1", ""]


def test_a_recall_is_all_or_nothing(units, who):
    record_implanted(unit=units[2], case_ref="C1", **who)
    with pytest.raises(MoveRefused, match="U2 is implanted"):
        recall(units=units, reason="recalled", **who)
    assert not Unit.objects.filter(state="recalled").exists()
    assert not UnitMovement.objects.filter(move__kind="recall").exists()


def test_what_is_recalled_is_not_picked(units, who):
    recall(units=units, reason="recalled", **who)
    with pytest.raises(MoveRefused, match="U0 is recalled: “pick” is not possible"):
        pick_unit(unit=units[0], case_ref="C1", **who)
