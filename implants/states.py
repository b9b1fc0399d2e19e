"""The states of a box and the moves between them: one table that everything refers to."""

from __future__ import annotations

from django.db import models

from deploy.kit.ledger import NOT_ENTERED, Move


class UnitState(models.TextChoices):
    AWAITED = "awaited"
    ON_THE_SHELF = "on the shelf"
    PICKED = "picked"
    QUARANTINE = "quarantine"
    RECALLED = "recalled"
    IMPLANTED = "implanted"
    WASTED = "wasted"
    RETURNED = "returned to supplier"
    STRUCK = "entered in error"


class Kind(models.TextChoices):
    """What happens to a box, as a verb of the floor."""

    LOAD = "load from a file"
    EXPECT = "expect"
    RECEIVE = "receive"
    PUT_AWAY = "put away"
    PICK = "pick"
    PUT_BACK = "put back"
    QUARANTINE = "quarantine"
    RECALL = "recall"
    LIFT = "lift the hold"
    IMPLANT = "implant"
    WASTE = "waste"
    RETURN = "return to supplier"
    CORRECT = "correct"
    STRIKE = "strike"


S = UnitState
HELD = (S.QUARANTINE, S.RECALLED)
"""On hold: not to be used, for the reason given."""
IN_THE_HOUSE = (S.ON_THE_SHELF, S.PICKED, *HELD)
STOCK = (S.AWAITED, *IN_THE_HOUSE)
"""What is here or on its way; the rest is gone."""
GONE = (S.IMPLANTED, S.WASTED, S.RETURNED, S.STRUCK)

MOVES = (
    # What a file states is nobody's act.
    *(Move(NOT_ENTERED, to, Kind.LOAD, unsigned=True) for to in STOCK),
    Move(NOT_ENTERED, S.AWAITED, Kind.EXPECT),
    Move(S.AWAITED, S.AWAITED, Kind.EXPECT),
    # A box that fails its check on arrival goes to quarantine at the bench.
    *(Move(before, S.ON_THE_SHELF, Kind.RECEIVE) for before in (NOT_ENTERED, S.AWAITED)),
    *(
        Move(before, S.QUARANTINE, Kind.RECEIVE, reasoned=True)
        for before in (NOT_ENTERED, S.AWAITED, S.QUARANTINE)
    ),
    Move(S.RECALLED, S.RECALLED, Kind.RECEIVE, reasoned=True),
    Move(S.ON_THE_SHELF, S.ON_THE_SHELF, Kind.PUT_AWAY),
    Move(S.ON_THE_SHELF, S.PICKED, Kind.PICK),
    Move(S.PICKED, S.ON_THE_SHELF, Kind.PUT_BACK),
    *(
        Move(before, S.QUARANTINE, Kind.QUARANTINE, reasoned=True)
        for before in (S.AWAITED, S.ON_THE_SHELF, S.PICKED, S.QUARANTINE)
    ),
    *(Move(before, S.RECALLED, Kind.RECALL, reasoned=True) for before in STOCK),
    *(Move(before, S.ON_THE_SHELF, Kind.LIFT, two_people=True, reasoned=True) for before in HELD),
    # What happened must be traceable, so this is never refused; what should not have happened
    # takes a reason and a second person.
    *(Move(before, S.IMPLANTED, Kind.IMPLANT) for before in (S.ON_THE_SHELF, S.PICKED)),
    *(
        Move(before, S.IMPLANTED, Kind.IMPLANT, two_people=True, reasoned=True)
        for before in (S.AWAITED, *HELD)
    ),
    *(Move(before, S.WASTED, Kind.WASTE, reasoned=True) for before in IN_THE_HOUSE),
    *(Move(before, S.RETURNED, Kind.RETURN) for before in (S.ON_THE_SHELF, *HELD)),
    *(Move(before, S.STRUCK, Kind.STRIKE, reasoned=True) for before in (S.AWAITED, S.ON_THE_SHELF)),
    # Never straight back to the shelf.
    *(Move(before, S.QUARANTINE, Kind.CORRECT, two_people=True, reasoned=True) for before in GONE),
)
