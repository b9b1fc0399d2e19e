from __future__ import annotations

from datetime import timedelta

import pytest

from deploy.kit.errors import MoveRefused
from implants.models import Unit
from implants.operations.holds import quarantine
from implants.operations.shelf import (
    enter_unit,
    expect_unit,
    put_away,
    receive_unit,
    return_to_supplier,
    strike_unit,
)
from tests import factories
from tests.factories import NOW

DUE = NOW + timedelta(days=2)


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def new(site):
    implant = factories.implant(site)
    return lambda: Unit(site=site, implant=implant, code="U1", does_not_expire=True)


def test_a_new_box_is_received(new, who):
    unit = enter_unit(unit=new(), **who)
    assert (unit.state, unit.seq, unit.expected_at) == ("on the shelf", 1, None)


def test_a_new_box_is_expected_its_time_changes_and_it_is_received(new, who):
    unit = enter_unit(unit=new(), expected_at=DUE, **who)
    assert (unit.state, unit.expected_at) == ("awaited", DUE)
    unit = expect_unit(unit=unit, expected_at=DUE + timedelta(hours=1), seq=1, **who)
    assert unit.expected_at == DUE + timedelta(hours=1)
    unit = receive_unit(unit=unit, seq=2, **who)
    assert (unit.state, unit.expected_at, unit.seq) == ("on the shelf", None, 3)


def test_a_box_that_fails_its_check_is_in_quarantine(new, who):
    unit = enter_unit(unit=new(), reason="seal broken", **who)
    assert (unit.state, unit.hold) == ("quarantine", "seal broken")


def test_a_box_that_was_put_on_hold_on_its_way_stays_so(new, who):
    unit = enter_unit(unit=new(), expected_at=DUE, **who)
    unit = quarantine(unit=unit, reason="wrong lot", **who)
    assert (unit.state, unit.expected_at) == ("quarantine", DUE)
    unit = receive_unit(unit=unit, **who)
    assert (unit.state, unit.hold, unit.expected_at) == ("quarantine", "wrong lot", None)


def test_nothing_is_saved_of_a_box_that_cannot_be_entered(new, who, stranger):
    with pytest.raises(MoveRefused):
        enter_unit(unit=new(), by=stranger, now=NOW)
    assert not Unit.objects.exists()


def test_put_away_says_where(site, who):
    unit = put_away(unit=factories.unit(factories.implant(site)), location="B-02", **who)
    assert Unit.objects.get(pk=unit.pk).location == "B-02"
    assert unit.movements.get(seq=2).station == "B-02"


@pytest.mark.parametrize(
    ("act", "state"),
    [(return_to_supplier, "returned to supplier"), (strike_unit, "entered in error")],
)
def test_what_leaves(site, who, act, state):
    unit = act(unit=factories.unit(factories.implant(site)), reason="short-dated", **who)
    assert unit.state == state
    with pytest.raises(MoveRefused):
        receive_unit(unit=unit, **who)


def test_a_struck_box_takes_a_reason(site, who):
    with pytest.raises(MoveRefused, match="“strike” takes a reason"):
        strike_unit(unit=factories.unit(factories.implant(site)), reason="", **who)
