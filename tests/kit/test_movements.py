"""The one write by which an item changes its state."""

from __future__ import annotations

import pytest

from deploy.kit.errors import MoveRefused
from deploy.kit.movements import move_item
from implants.ledger import UNITS
from implants.models import UnitMovement
from implants.states import Kind, UnitState
from tests import factories
from tests.factories import NOW


@pytest.fixture
def unit(site):
    return factories.unit(factories.implant(site))


@pytest.fixture
def moved(unit, coordinator):
    def moved(to=UnitState.QUARANTINE, kind=Kind.QUARANTINE, **said):
        return move_item(UNITS, unit, to=to, kind=kind, **{"by": coordinator, "now": NOW} | said)

    return moved


def test_moves_and_keeps_the_record(moved, coordinator, django_assert_num_queries):
    # The savepoint is two.
    with django_assert_num_queries(6):
        unit = moved(reason="dropped", hold="dropped", station="Bench 2", request_key="k1")
    assert (unit.state, unit.seq, unit.hold) == ("quarantine", 2, "dropped")
    kept = UnitMovement.objects.get(unit=unit, seq=2)
    assert (kept.by, kept.second, kept.at) == (coordinator.user, None, NOW)
    assert (kept.reason, kept.station, kept.request_key) == ("dropped", "Bench 2", "k1")
    assert str(kept) == "U001 2: quarantine: on the shelf → quarantine"


def test_the_day_is_the_sites_own(moved):
    # British Summer Time: 23:30 UTC on 30 June is 00:30 on 1 July in London.
    unit = moved(
        reason="dropped", hold="dropped", now=NOW.replace(month=6, day=30, hour=23, minute=30)
    )
    assert f"{UnitMovement.objects.get(unit=unit, seq=2).day}" == "2027-07-01"


def refusal(act, **said) -> str:
    with pytest.raises(MoveRefused) as refused:
        act(**said)
    assert refused.value.status == 409
    return refused.value.say()


def test_refuses_a_form_that_is_older_than_the_last_movement(moved):
    assert moved(reason="dropped", hold="dropped", seq=1).seq == 2
    said = refusal(moved, reason="again", hold="again", seq=1)
    assert said == "U001 was changed by someone else meanwhile. Look at it again first."
    assert UnitMovement.objects.count() == 2


def test_refuses_what_the_table_does_not_have(moved):
    said = refusal(moved, to=UnitState.ON_THE_SHELF, kind=Kind.PUT_BACK)
    assert said == "U001 is on the shelf: “put back” is not possible."


def test_refuses_an_act_without_its_reason(moved):
    assert refusal(moved, hold="dropped") == "“quarantine” takes a reason."


def test_refuses_one_person_where_it_takes_two(moved, coordinator, manager):
    moved(reason="dropped", hold="dropped")
    lift = {"to": UnitState.ON_THE_SHELF, "kind": Kind.LIFT, "reason": "box is whole"}
    for second in (None, coordinator):
        said = refusal(moved, **lift, second=second)
        assert said == "“lift the hold” takes two different people."
    assert moved(**lift, second=manager).state == "on the shelf"
    assert UnitMovement.objects.get(seq=3).second == manager.user


def test_refuses_the_stranger(moved, stranger, manager):
    said = refusal(moved, by=stranger, reason="dropped", hold="dropped")
    assert said == "U001 belongs to another site."


def test_a_stranger_is_no_second_person(moved, stranger):
    moved(reason="dropped", hold="dropped")
    refusal(moved, to=UnitState.ON_THE_SHELF, kind=Kind.LIFT, reason="r", second=stranger)
