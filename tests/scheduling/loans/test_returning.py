"""A loan goes back: all but what was used, and nothing that somebody still counts on."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from implants.models import Unit
from implants.operations.late_entries import enter_taken
from implants.operations.theatre import record_implanted
from implants.uses import open_uses
from scheduling.operations.loans.arriving import (
    check_in_tray,
    end_check_in,
    put_in_place,
    scan_in_box,
)
from scheduling.operations.loans.returning import change_due_back, return_loan
from scheduling.operations.reservations import free_unit, reserve_unit
from tests import factories
from tests.factories import NOW
from tests.implants.labels import label
from tests.scheduling.loans.conftest import refuses
from tests.scheduling.loans.test_arriving import SOUND
from trays.models import Tray
from trays.operations.moves import move_tray
from trays.stages import Stage


@pytest.fixture
def loan(lender):
    """Two boxes and the tray are here; the tray is in the washer."""
    loan = lender.arrived(twelve=2)
    check_in_tray(line=loan.trays.get(), looked=SOUND, **lender.who)
    for serial in "12":
        scan_in_box(loan=loan, text=label(serial=serial), **lender.who)
    put_in_place(loan=loan, **lender.who)
    return end_check_in(loan=loan, **lender.who)


def cleaned(lender) -> None:
    tray = Tray.objects.get()
    ready_at = NOW + timedelta(hours=4)
    move_tray(tray=tray, stage=Stage.ASSEMBLY, ready_at=ready_at, **lender.who)


def test_what_was_used_waits_for_its_bill_and_the_rest_goes_back(lender, loan):
    used, other = Unit.objects.filter(implant=lender.twelve).order_by("serial")
    record_implanted(unit=used, case_ref="C1", **lender.who)
    cleaned(lender)
    gone = return_loan(loan=loan, **lender.who)
    assert gone.state == "gone back"
    assert Tray.objects.get().stage == Stage.WITH_SUPPLIER
    other.refresh_from_db()
    assert other.state == "returned to supplier"
    assert [(use.unit, use.on_use) for use in open_uses(lender.by.site)] == [
        (used, "bill it, order none")
    ]


def test_a_tray_that_is_not_clean_stays(lender, loan):
    with refuses("goes_back_clean"):
        return_loan(loan=loan, **lender.who)
    assert set(Unit.objects.filter(owner="loan").values_list("state", flat=True)) == {
        "on the shelf",
        "entered in error",
    }


def test_what_is_promised_stays(lender, loan, site):
    cleaned(lender)
    case = factories.case(site)
    unit = Unit.objects.get(serial="1")
    reserve_unit(case=case, unit=unit, **lender.who)
    with refuses("loan_still_promised") as refused:
        return_loan(loan=loan, **lender.who)
    assert refused.value.say() == (
        f"Loan L-0001 is promised: {unit.code} for C1. Free it there first."
    )
    free_unit(case=case, unit=unit, **lender.who)
    return_loan(loan=loan, **lender.who)


def test_a_box_that_somebody_took_is_named(lender, loan, site):
    cleaned(lender)
    enter_taken(unit=Unit.objects.get(serial="1"), case_ref="C1", who="theatre", **lender.who)
    with refuses("loan_still_out"):
        return_loan(loan=loan, **lender.who)


def test_the_day_may_be_put_off_and_not_into_the_past(lender, loan):
    put_off = change_due_back(loan=loan, due_back=date(2027, 3, 20), **lender.who)
    assert put_off.movements.last().reason == "due back Sat 20 Mar 2027"
    with refuses("due_back_past"):
        change_due_back(loan=loan, due_back=date(2027, 2, 20), **lender.who)


def test_only_the_own_house_sends_it_back(lender, loan, stranger):
    with refuses("loan_elsewhere"):
        return_loan(loan=loan, by=stranger, now=NOW)
