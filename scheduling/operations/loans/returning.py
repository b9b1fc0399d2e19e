"""A loan goes back, with what was used of it.  One transaction."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.operations.shelf import return_to_supplier
from implants.states import HELD, UnitState
from scheduling.errors import Refused
from scheduling.loans.states import BEFORE_ARRIVAL, HERE, LoanKind, LoanState
from scheduling.models import Loan, LoanBox, TrayReservation, UnitReservation
from scheduling.operations.loans.recording import locked_loan, record
from trays.operations.loans import send_lent_tray_back

TO_RETURN = (UnitState.ON_THE_SHELF, *HELD)


@transaction.atomic
def return_loan(*, loan: Loan, by: Person, now: datetime, seq: int | None = None) -> Loan:
    """Every tray and every box that was not used goes back; what was used waits to be billed.

    Refused: loan_is, loan_still_promised (names trays, boxes and their cases), loan_still_out (a
    box that is picked is neither used nor back); TrayRefused: goes_back_clean.
    """
    there = locked_loan(loan, by, LoanState.CHECKED_IN, doing="sending it back", seq=seq)
    trays = [line.tray for line in there.trays.exclude(checked_at=None).select_related("tray")]
    units = units_of(there)
    held = [
        f"{one.tray.code} for {one.case.ref}"
        for one in TrayReservation.objects.filter(tray__in=trays, freed_at=None).select_related(
            "tray", "case"
        )
    ]
    held += [
        f"{one.unit.code} for {one.case.ref}"
        for one in UnitReservation.objects.filter(
            unit__in=[unit for unit in units if unit.state in TO_RETURN], freed_at=None
        ).select_related("unit", "case")
    ]
    if held:
        raise Refused("loan_still_promised", loan=there.code, what=held)
    picked = [
        f"{unit.code} for {unit.case_ref}" for unit in units if unit.state == UnitState.PICKED
    ]
    if picked:
        raise Refused("loan_still_out", loan=there.code, what=picked)
    for tray in trays:
        send_lent_tray_back(tray=tray, by=by, now=now)
    for unit in units:
        if unit.state in TO_RETURN:
            return_to_supplier(unit=unit, reason=f"loan {there.code}", by=by, now=now)
    return record(there, LoanKind.RETURN, to=LoanState.GONE_BACK, by=by, now=now)


@transaction.atomic
def change_due_back(
    *, loan: Loan, due_back: date, by: Person, now: datetime, seq: int | None = None
) -> Loan:
    """The lender wants it back on another day.  Refused: loan_is, due_back_past."""
    there = locked_loan(loan, by, *BEFORE_ARRIVAL, *HERE, doing="changing the day", seq=seq)
    if due_back < there.site.local(now).date():
        raise Refused("due_back_past", day=due_back)
    there.due_back = due_back
    there.save(update_fields=["due_back"])
    return record(there, LoanKind.CHANGE, by=by, now=now, reason=f"due back {due_back:%a %d %b %Y}")


def units_of(loan: Loan) -> list[Unit]:
    """Every box of the loan that ever was one.  One query."""
    boxes = LoanBox.objects.filter(line__loan=loan).exclude(unit__state=UnitState.STRUCK)
    return [box.unit for box in boxes.select_related("unit__implant")]
