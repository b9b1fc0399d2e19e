"""Ask a supplier for a loan, take down when it comes, or call it off.  Each is one transaction.

Nothing counts for a case before the supplier has given a date: until then its trays are with
their lender and not expected, and its boxes are lines without boxes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Implant, Owner, Supplier, Unit
from implants.operations.shelf import enter_unit, expect_unit, strike_unit
from implants.states import UnitState
from scheduling.errors import Refused
from scheduling.loans.states import BEFORE_ARRIVAL, TO_COME, LoanKind, LoanState
from scheduling.loans.words import trays_and_boxes
from scheduling.models import Loan, LoanBox, LoanLine, LoanTray
from scheduling.operations.loans.recording import locked_loan, record
from trays.models import Configuration, Tray
from trays.models.tray import Ownership
from trays.operations.loans import enter_lent_tray, expect_tray
from trays.stages import Stage

PREFIX = "L-"
MOST_TRAYS = 20


@dataclass(frozen=True, slots=True)
class Lent:
    """What is asked for: new trays by configuration, trays of the lender that were here before,
    and boxes by item."""

    configurations: Sequence[Configuration] = ()
    known: Sequence[Tray] = ()
    boxes: Mapping[Implant, int] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.configurations or self.known or self.boxes)


@transaction.atomic
def begin_loan(
    *,
    supplier: Supplier,
    lent: Lent,
    by: Person,
    now: datetime,
    due_back: date | None = None,
    why: str = "",
) -> Loan:
    """A draft with the site's next number.  Refused: supplier_elsewhere, due_back_past, and as
    `add_to_loan`."""
    if supplier.site_id != by.site_id:
        raise Refused("supplier_elsewhere", supplier=supplier.code)
    if due_back is not None and due_back < by.site.local(now).date():
        raise Refused("due_back_past", day=due_back)
    # Two begun at once wait for each other here, and get two numbers.
    Site.objects.select_for_update().get(pk=by.site_id)
    number = Loan.objects.filter(site=by.site).count() + 1
    loan = Loan.objects.create(
        site=by.site,
        supplier=supplier,
        code=f"{PREFIX}{number:04}",
        due_back=due_back,
        why=why.strip()[:200],
    )
    loan = record(loan, LoanKind.BEGIN, to=LoanState.DRAFT, by=by, now=now)
    return add_to_loan(loan=loan, lent=lent, by=by, now=now)


@transaction.atomic
def add_to_loan(
    *, loan: Loan, lent: Lent, by: Person, now: datetime, seq: int | None = None
) -> Loan:
    """More on the same consignment; where it has a date, what is added has that date too.

    Refused: loan_elsewhere, loan_is, loan_empty, too_many_trays, tray_not_lent, tray_on_loan,
    implant_elsewhere; TrayRefused: no_count_sheet.
    """
    there = locked_loan(loan, by, *BEFORE_ARRIVAL, LoanState.ARRIVED, doing="adding to it", seq=seq)
    if not lent:
        raise Refused("loan_empty", loan=there.code)
    _add_trays(there, lent, by, now)
    for implant, quantity in lent.boxes.items():
        if implant.site_id != there.site_id:
            raise Refused("implant_elsewhere", item=implant.ref)
        line, made = LoanLine.objects.get_or_create(
            loan=there, implant=implant, defaults={"quantity": quantity}
        )
        if not made:
            line.quantity += quantity
            line.save(update_fields=["quantity"])
    if there.expected_at is not None:
        enter_boxes(there, there.expected_at, by, now)
    said = trays_and_boxes(len(lent.configurations) + len(lent.known), sum(lent.boxes.values()))
    return record(there, LoanKind.CHANGE, by=by, now=now, reason=f"{said} added")


def _add_trays(loan: Loan, lent: Lent, by: Person, now: datetime) -> None:
    number = loan.trays.count()
    if number + len(lent.configurations) + len(lent.known) > MOST_TRAYS:
        raise Refused("too_many_trays", most=MOST_TRAYS)
    taken = set(
        Tray.objects.filter(site=loan.site, code__startswith=f"{loan.code}/").values_list(
            "code", flat=True
        )
    )
    for configuration in lent.configurations:
        while f"{loan.code}/{number + 1}" in taken:
            number += 1
        code = f"{loan.code}/{number + 1}"
        taken.add(code)
        tray = enter_lent_tray(
            configuration=configuration, code=code, expected_at=loan.expected_at, by=by, now=now
        )
        LoanTray.objects.create(loan=loan, tray=tray)
    for tray in lent.known:
        if tray.site_id != loan.site_id or tray.owner != Ownership.LOAN:
            raise Refused("tray_not_lent", tray=tray.code)
        if tray.stage != Stage.WITH_SUPPLIER or is_on_a_loan(tray):
            raise Refused("tray_on_loan", tray=tray.code)
        if loan.expected_at is not None:
            expect_tray(tray=tray, expected_at=loan.expected_at, by=by, now=now)
        LoanTray.objects.create(loan=loan, tray=tray)


def is_on_a_loan(tray: Tray) -> bool:
    """Whether it is a line of a loan that is not over.  One query."""
    over = (LoanState.GONE_BACK, LoanState.CALLED_OFF)
    return LoanTray.objects.filter(tray=tray).exclude(loan__state__in=over).exists()


@transaction.atomic
def ask_for_loan(*, loan: Loan, by: Person, now: datetime, seq: int | None = None) -> Loan:
    """The supplier has the request: by print or telephone."""
    there = locked_loan(loan, by, LoanState.DRAFT, doing="asking for it", seq=seq)
    return record(there, LoanKind.SEND, to=LoanState.ASKED, by=by, now=now)


@transaction.atomic
def promise_loan(
    *, loan: Loan, expected_at: datetime, by: Person, now: datetime, seq: int | None = None
) -> Loan:
    """The supplier has said when all of it comes, or has said it anew.  From then on it counts,
    as awaited, for the cases that it is in time for.  Refused: loan_is, loan_date_past."""
    there = locked_loan(loan, by, *TO_COME, doing="giving it a date", seq=seq)
    said = there.site.local(expected_at)
    if expected_at < now:
        raise Refused("loan_date_past", date=said)
    expect_all(there, expected_at, by, now)
    return record(
        there,
        LoanKind.PROMISE,
        to=LoanState.PROMISED,
        expected_at=expected_at,
        reason=f"due {said:%a %d %b %H:%M}",
        by=by,
        now=now,
    )


@transaction.atomic
def call_off_loan(
    *, loan: Loan, reason: str, by: Person, now: datetime, seq: int | None = None
) -> Loan:
    """It will not come.  Whatever leaned on it leans on nothing."""
    there = locked_loan(loan, by, *BEFORE_ARRIVAL, doing="calling it off", seq=seq)
    for line in there.trays.select_related("tray"):
        expect_tray(tray=line.tray, expected_at=None, by=by, now=now)
    for unit in awaited_units(there):
        strike_unit(unit=unit, reason=reason or "called off", by=by, now=now)
    return record(
        there, LoanKind.CALL_OFF, to=LoanState.CALLED_OFF, reason=reason.strip(), by=by, now=now
    )


def expect_all(loan: Loan, expected_at: datetime, by: Person, now: datetime) -> None:
    """Every tray and box that is still to come, at that moment."""
    for line in loan.trays.filter(checked_at=None).select_related("tray"):
        if line.tray.stage == Stage.WITH_SUPPLIER:
            expect_tray(tray=line.tray, expected_at=expected_at, by=by, now=now)
    for unit in awaited_units(loan):
        expect_unit(unit=unit, expected_at=expected_at, by=by, now=now)
    enter_boxes(loan, expected_at, by, now)


def awaited_units(loan: Loan) -> list[Unit]:
    """The boxes that are entered, on no hold and not here.  One query."""
    boxes = LoanBox.objects.filter(line__loan=loan, unit__state=UnitState.AWAITED)
    return [box.unit for box in boxes.select_related("unit")]


def enter_boxes(loan: Loan, expected_at: datetime, by: Person, now: datetime) -> None:
    """The boxes of the lines that have none yet, awaited with the earliest use-by date that the
    supplier's terms allow: the real one is on the box."""
    number = LoanBox.objects.filter(line__loan=loan).count()
    arrives = loan.site.local(expected_at).date()
    use_by = loan.supplier.use_by_of_a_box_due(arrives)
    for line in loan.lines.select_related("implant").prefetch_related("boxes"):
        last = line.implant.units.order_by("-pk").first()
        endless = last is not None and last.does_not_expire
        for _ in range(line.quantity - line.not_delivered - len(line.boxes.all())):
            number += 1
            unit = Unit(
                site=loan.site,
                code=f"{loan.code}/B{number}",
                implant=line.implant,
                expiry=None if endless else use_by,
                does_not_expire=endless,
                owner=Owner.LOAN,
            )
            enter_unit(unit=unit, expected_at=expected_at, by=by, now=now)
            LoanBox.objects.create(line=line, unit=unit)
