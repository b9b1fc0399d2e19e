"""What every write about a loan does: look at it locked, and add its movement."""

from __future__ import annotations

from datetime import datetime
from textwrap import shorten

from deploy.kit.models import Person
from deploy.kit.movements import locked_item, move_item
from scheduling.errors import Refused
from scheduling.loans.states import LOANS, LoanKind, LoanState
from scheduling.models import Loan

LONGEST_REASON = 120


def locked_loan(
    loan: Loan, by: Person, *states: LoanState, doing: str, seq: int | None = None
) -> Loan:
    """The loan as it stands, locked.  Refused: loan_elsewhere, loan_is (it is in none of these
    states); MoveRefused (seq_stale)."""
    there: Loan = locked_item(LOANS, loan, seq)
    if there.site_id != by.site_id:
        raise Refused("loan_elsewhere", loan=there.code)
    if there.state not in states:
        raise Refused("loan_is", loan=there.code, state=there.state, doing=doing)
    return there


def record(
    loan: Loan,
    kind: LoanKind,
    *,
    by: Person,
    now: datetime,
    to: LoanState | None = None,
    reason: str = "",
    delivery_note: str | None = None,
    expected_at: datetime | None = None,
) -> Loan:
    """Add the movement; what is left out stays as it is."""
    return move_item(
        LOANS,
        loan,
        to=to or loan.state,
        kind=kind,
        by=by,
        now=now,
        reason=shorten(reason, LONGEST_REASON, placeholder=" …"),
        delivery_note=loan.delivery_note if delivery_note is None else delivery_note,
        expected_at=expected_at or loan.expected_at,
    )
