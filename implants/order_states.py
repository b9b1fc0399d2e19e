"""The states of an order and the moves between them: one table that everything refers to.

How much of an order is here is not a state: it is what its boxes say.
"""

from __future__ import annotations

from django.db import models

from deploy.kit.ledger import NOT_ENTERED, Move


class OrderState(models.TextChoices):
    DRAFT = "draft"
    SENT = "sent"
    CONFIRMED = "confirmed"
    CLOSED = "closed"
    CANCELLED = "cancelled"


class OrderKind(models.TextChoices):
    """What happens to an order, as a verb of the desk."""

    BEGIN = "begin"
    CHANGE = "change"
    SEND = "send"
    CONFIRM = "confirm"
    NEW_DATE = "new date"
    NOT_COMING = "not coming"
    SUBSTITUTE = "substitute"
    CLOSE = "close"
    OPEN_AGAIN = "open again"
    CANCEL = "cancel"


S, K = OrderState, OrderKind
WITH_SUPPLIER = (S.SENT, S.CONFIRMED)
OPEN = (S.DRAFT, *WITH_SUPPLIER)

ORDER_MOVES = (
    Move(NOT_ENTERED, S.DRAFT, K.BEGIN),
    Move(S.DRAFT, S.DRAFT, K.CHANGE, reasoned=True),
    Move(S.DRAFT, S.SENT, K.SEND),
    *(Move(before, S.CONFIRMED, K.CONFIRM, reasoned=True) for before in WITH_SUPPLIER),
    Move(S.CONFIRMED, S.CONFIRMED, K.NEW_DATE, reasoned=True),
    *(
        Move(state, state, kind, reasoned=True)
        for kind in (K.NOT_COMING, K.SUBSTITUTE)
        for state in WITH_SUPPLIER
    ),
    *(Move(before, S.CLOSED, K.CLOSE) for before in WITH_SUPPLIER),
    Move(S.CLOSED, S.CONFIRMED, K.OPEN_AGAIN, reasoned=True),
    *(Move(before, S.CANCELLED, K.CANCEL, reasoned=True) for before in (S.DRAFT, S.SENT)),
)
