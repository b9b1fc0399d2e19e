"""The ledgers of boxes and of orders, and what the database refuses about them beside it."""

from __future__ import annotations

from collections.abc import Iterator

from deploy.kit.guards import Guard
from deploy.kit.ledger import Ledger
from implants.order_states import ORDER_MOVES
from implants.states import MOVES, Kind

UNITS = Ledger(
    app="implants",
    item="unit",
    movement="unitmovement",
    move="unitmove",
    state="state",
    texts=("hold", "case_ref"),
    moments=("expected_at",),
    moves=MOVES,
)

ORDERS = Ledger(
    app="implants",
    item="order",
    movement="ordermovement",
    move="ordermove",
    state="state",
    texts=("supplier_ref",),
    moments=(),
    moves=ORDER_MOVES,
)


def is_kind(kind: Kind) -> str:
    """SQL: whether the movement to be added is of that kind."""
    return (
        "EXISTS (SELECT 1 FROM implants_unitmove v WHERE v.id = NEW.move_id "
        f"AND v.kind = '{kind.value}')"
    )


# Use by is inclusive.
_OUT_OF_DATE = (
    "EXISTS (SELECT 1 FROM implants_unit u WHERE u.id = NEW.unit_id AND u.expiry < NEW.day)"
)


def guards() -> Iterator[Guard]:
    yield Guard(
        name="implants_picked_in_date",
        table="implants_unitmovement",
        before="INSERT",
        when=f"{is_kind(Kind.PICK)} AND {_OUT_OF_DATE}",
        says="a box past its use-by date is not picked",
    )
    yield Guard(
        name="implants_implanted_in_date",
        table="implants_unitmovement",
        before="INSERT",
        when=f"{is_kind(Kind.IMPLANT)} AND {_OUT_OF_DATE} "
        "AND (NEW.second_id IS NULL OR NEW.reason = '')",
        says="a box past its use-by date is recorded with a reason and by two people",
    )
    yield Guard(
        name="implants_used_for_a_case",
        table="implants_unitmovement",
        before="INSERT",
        when=f"NEW.case_ref = '' AND ({is_kind(Kind.PICK)} OR {is_kind(Kind.IMPLANT)})",
        says="a box is picked and implanted for a case",
    )
