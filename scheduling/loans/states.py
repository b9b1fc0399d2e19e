"""The states of a loan and the moves between them: one table that everything refers to.

How much of a loan is here is not a state: it is what its trays and boxes say.
"""

from __future__ import annotations

from django.db import models

from deploy.kit.ledger import NOT_ENTERED, Ledger, Move


class LoanState(models.TextChoices):
    DRAFT = "draft"
    ASKED = "asked for"
    PROMISED = "promised"
    ARRIVED = "arrived"
    CHECKED_IN = "checked in"
    GONE_BACK = "gone back"
    CALLED_OFF = "called off"


class LoanKind(models.TextChoices):
    """What happens to a loan, as a verb of the desk."""

    BEGIN = "begin"
    CHANGE = "change"
    SEND = "ask for it"
    PROMISE = "promise"
    ARRIVE = "arrive"
    END_CHECK_IN = "end the check-in"
    RETURN = "go back"
    CALL_OFF = "call off"


S, K = LoanState, LoanKind
BEFORE_ARRIVAL = (S.DRAFT, S.ASKED, S.PROMISED)
TO_COME = (S.ASKED, S.PROMISED)
HERE = (S.ARRIVED, S.CHECKED_IN)
OPEN = (*BEFORE_ARRIVAL, *HERE)

LOAN_MOVES = (
    Move(NOT_ENTERED, S.DRAFT, K.BEGIN),
    *(Move(state, state, K.CHANGE, reasoned=True) for state in OPEN),
    Move(S.DRAFT, S.ASKED, K.SEND),
    *(Move(before, S.PROMISED, K.PROMISE, reasoned=True) for before in TO_COME),
    *(Move(before, S.ARRIVED, K.ARRIVE) for before in TO_COME),
    Move(S.ARRIVED, S.CHECKED_IN, K.END_CHECK_IN, reasoned=True),
    Move(S.CHECKED_IN, S.GONE_BACK, K.RETURN),
    *(Move(before, S.CALLED_OFF, K.CALL_OFF, reasoned=True) for before in BEFORE_ARRIVAL),
)

LOANS = Ledger(
    app="scheduling",
    item="loan",
    movement="loanmovement",
    move="loanmove",
    state="state",
    texts=("delivery_note",),
    moments=("expected_at",),
    moves=LOAN_MOVES,
)
