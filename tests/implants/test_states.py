"""The table of a box's moves, as a table: no database."""

from __future__ import annotations

from implants.states import GONE, HELD, MOVES, STOCK, Kind, UnitState

S = UnitState


def moves(kind: Kind) -> set[tuple[str, str]]:
    return {(move.from_state, move.to_state) for move in MOVES if move.kind == kind}


def test_a_move_is_there_once():
    keys = [(move.from_state, move.to_state, move.kind) for move in MOVES]
    assert len(set(keys)) == len(keys)


def test_every_state_is_stock_or_gone_and_can_be_reached():
    assert {*STOCK, *GONE} == set(UnitState)
    assert {move.to_state for move in MOVES} == set(UnitState)


def test_what_is_gone_comes_back_to_quarantine_alone_and_by_two_people():
    back = [move for move in MOVES if move.from_state in GONE]
    assert {move.from_state for move in back} == set(GONE)
    assert {(move.to_state, move.two_people, move.reasoned) for move in back} == {
        (S.QUARANTINE, True, True)
    }


def test_only_what_is_on_the_shelf_is_picked():
    assert moves(Kind.PICK) == {(S.ON_THE_SHELF, S.PICKED)}


def test_a_hold_is_lifted_by_two_people_and_never_by_picking_or_putting_back():
    to_the_shelf = [move for move in MOVES if move.from_state in HELD and move.to_state not in HELD]
    free = [move for move in to_the_shelf if move.to_state in (S.ON_THE_SHELF, S.PICKED)]
    assert {move.kind for move in free} == {Kind.LIFT}
    assert all(move.two_people and move.reasoned for move in free)


def test_what_was_implanted_can_be_recorded_of_every_box_in_stock():
    assert {state for state, _ in moves(Kind.IMPLANT)} == set(STOCK)


def test_everything_in_stock_can_be_recalled():
    assert moves(Kind.RECALL) == {(state, S.RECALLED) for state in STOCK}


def test_only_a_file_is_nobodys_act():
    assert {move.kind for move in MOVES if move.unsigned} == {Kind.LOAD}
