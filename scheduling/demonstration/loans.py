"""The demonstration's loans: one late, one promised, one of a tray and 80 boxes being checked in.

The two cup extraction sets are those of the scenario.  The boxes are stems that no booked case
asks for, so that no verdict rests on them.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Implant, Supplier
from scheduling.models import Loan
from scheduling.operations.loans.arriving import loan_arrived, put_in_place, scan_in_box
from scheduling.operations.loans.asking import Lent, ask_for_loan, begin_loan, promise_loan
from scheduling.queries import coverage_now
from trays.models import Configuration, Tray

LINE = "NA"
BOXES, SCANNED = 80, 6
PLACE = "Loan trolley"


@transaction.atomic
def make_demo_loans(*, site: Site, by: Person) -> list[Loan]:
    south = Supplier.objects.get(site=site, code="SOUTH")
    today = site.local(site.now()).date()

    def at(days: int, hour: int, minute: int = 0) -> datetime:
        return datetime.combine(today + timedelta(days=days), time(hour, minute), tzinfo=site.zone)

    late, coming = (Tray.objects.get(site=site, code=f"CUP-OUT/{n}") for n in (1, 2))
    return [
        _promised(south, Lent(known=[late]), by, asked=at(-6, 9), due=at(-3, 12), back=10),
        _promised(south, Lent(known=[coming]), by, asked=at(-4, 10), due=at(8, 8, 30), back=11),
        _half_in(site, by, asked=at(-5, 11), due=at(0, 6, 30)),
    ]


def _promised(
    supplier: Supplier, lent: Lent, by: Person, *, asked: datetime, due: datetime, back: int
) -> Loan:
    due_back = (due + timedelta(days=back)).date()
    loan = begin_loan(supplier=supplier, lent=lent, due_back=due_back, by=by, now=asked)
    loan = ask_for_loan(loan=loan, by=by, now=asked)
    return promise_loan(loan=loan, expected_at=due, by=by, now=asked + timedelta(hours=3))


def _half_in(site: Site, by: Person, *, asked: datetime, due: datetime) -> Loan:
    north = Supplier.objects.get(site=site, code="NORTH")
    wanted = {line.item for case in coverage_now(site).report.cases for line in case.lines}
    stems = Implant.objects.filter(site=site, role="stem", ref__startswith=LINE).order_by("ref")
    free = [stem for stem in stems if stem.ref not in wanted]
    boxes = {each: BOXES // len(free) + (n < BOXES % len(free)) for n, each in enumerate(free)}
    drill = Configuration.objects.get(site=site, code="POWER")
    lent = Lent([drill], boxes=boxes)
    loan = _promised(north, lent, by, asked=asked, due=due, back=14)
    now = site.now() - timedelta(minutes=10)
    loan = loan_arrived(loan=loan, delivery_note="N-55012", place=PLACE, by=by, now=now)
    use_by = site.local(now).date() + timedelta(days=1400)
    for number, implant in enumerate(list(boxes)[:SCANNED]):
        text = f"01{implant.gtin}17{use_by:%y%m%d}10LN{number:03}"
        scan_in_box(loan=loan, text=text, by=by, now=now)
    put_in_place(loan=loan, by=by, now=now)
    return loan
