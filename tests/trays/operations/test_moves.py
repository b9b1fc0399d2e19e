from __future__ import annotations

from datetime import timedelta

import pytest

from deploy.kit.errors import MoveRefused
from tests import factories
from tests.factories import NOW
from trays.ledger import MOVES, Kind
from trays.models import Tray
from trays.operations.moves import enter_tray, lift_hold, move_tray
from trays.stages import STAGES, Stage

SOON = NOW + timedelta(hours=6)


@pytest.fixture
def who(sterile_services):
    return {"by": sterile_services, "now": NOW}


@pytest.fixture
def tray(site):
    return factories.tray(factories.configuration(site))


def test_the_moves_are_those_of_the_table_of_stages():
    cycle = {
        (move.from_state, move.to_state)
        for move in MOVES
        if move.kind in (Kind.MOVE, Kind.HOLD, Kind.LIFT)
    }
    assert cycle == {
        (stage, after) for stage, row in STAGES.items() for after in row.next if after != stage
    }


def test_moves_on_with_its_case_and_times(tray, who):
    moved = move_tray(tray=tray, stage=Stage.ISSUED, ready_at=NOW, case_ref="C1", seq=1, **who)
    assert (moved.stage, moved.seq, moved.case_ref) == ("issued", 2, "C1")
    back = move_tray(tray=tray, stage=Stage.IN_THEATRE, ready_at=SOON, case_ref="C1", **who)
    assert (back.ready_at, tray.movements.count()) == (SOON, 3)


def test_other_times_at_the_same_stage_are_a_movement(tray, who):
    moved = move_tray(tray=tray, stage=Stage.STERILE_STORE, ready_at=NOW, sterile_until=SOON, **who)
    assert moved.sterile_until == SOON
    assert tray.movements.get(seq=2).move.kind == Kind.TIME


def test_refuses_a_stage_that_does_not_follow(tray, who):
    with pytest.raises(MoveRefused) as refused:
        move_tray(tray=tray, stage=Stage.IN_THEATRE, ready_at=SOON, **who)
    assert refused.value.say() == "BASE/1 is sterile store: “move” is not possible."


def test_refuses_a_form_that_is_older_than_the_last_movement(tray, who):
    move_tray(tray=tray, stage=Stage.QUARANTINE, reason="wet", seq=1, **who)
    with pytest.raises(MoveRefused, match="changed by someone else"):
        move_tray(tray=tray, stage=Stage.ISSUED, ready_at=NOW, seq=1, **who)


def test_a_hold_takes_a_reason_and_ends_at_the_beginning_of_the_cycle(tray, who):
    with pytest.raises(MoveRefused, match="“hold” takes a reason"):
        move_tray(tray=tray, stage=Stage.QUARANTINE, reason="", **who)
    held = move_tray(tray=tray, stage=Stage.QUARANTINE, reason="hole in the wrap", **who)
    assert (held.stage, held.ready_at) == ("quarantine", None)
    lifted = lift_hold(tray=tray, ready_at=SOON, **who)
    assert (lifted.stage, lifted.ready_at) == ("cleaning", SOON)


def test_a_new_tray_enters_anywhere(tray, who):
    new = Tray(
        site=tray.site,
        code="BASE/2",
        asset="0299999B2",
        configuration=tray.configuration,
        version=tray.version,
    )
    entered = enter_tray(tray=new, stage=Stage.WITH_SUPPLIER, expected_at=SOON, **who)
    assert (entered.stage, entered.expected_at, entered.seq) == ("with supplier", SOON, 1)


def test_refuses_the_stranger(tray, stranger):
    with pytest.raises(MoveRefused, match="BASE/1 belongs to another site"):
        move_tray(tray=tray, stage=Stage.QUARANTINE, reason="wet", by=stranger, now=NOW)
