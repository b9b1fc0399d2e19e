"""Asking for a loan: what counts before it comes, and what does not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from implants.models import Unit
from scheduling.models import Loan, LoanBox
from scheduling.operations.loans.asking import (
    Lent,
    add_to_loan,
    ask_for_loan,
    begin_loan,
    call_off_loan,
    promise_loan,
)
from tests import factories
from tests.factories import NOW
from tests.scheduling.loans.conftest import BACK, DUE, refuses
from trays.models import Tray
from trays.stages import Stage


def test_what_has_no_date_counts_for_nothing(lender):
    loan = ask_for_loan(loan=lender.loan(), **lender.who)
    assert (loan.code, loan.state, loan.due_back) == ("L-0001", "asked for", BACK)
    tray = Tray.objects.get(code="L-0001/1")
    assert (tray.stage, tray.expected_at, tray.owner) == (Stage.WITH_SUPPLIER, None, "loan")
    assert not Unit.objects.exists()


def test_a_promise_puts_all_of_it_on_its_way(lender):
    loan = lender.promised()
    assert (loan.state, loan.expected_at) == ("promised", DUE)
    assert Tray.objects.get().expected_at == DUE
    units = Unit.objects.filter(state="awaited", expected_at=DUE, owner="loan")
    assert units.count() == LoanBox.objects.count() == 11
    # Until the label is read, the earliest date that the terms allow.
    assert {unit.expiry for unit in units} == {date(2027, 3, 1) + timedelta(days=300)}


def test_another_date_moves_all_of_it(lender):
    later = DUE + timedelta(days=1)
    loan = promise_loan(loan=lender.promised(), expected_at=later, **lender.who)
    assert loan.expected_at == Tray.objects.get().expected_at == later
    assert set(Unit.objects.values_list("expected_at", flat=True)) == {later}
    assert Unit.objects.count() == 11, "no box is entered twice"


def test_what_is_added_has_the_date_of_the_rest(lender):
    loan = add_to_loan(
        loan=lender.promised(),
        lent=Lent([lender.sheet.configuration], boxes={lender.twelve: 2}),
        **lender.who,
    )
    assert loan.lines.get(implant=lender.twelve).quantity == 12
    assert Unit.objects.filter(expected_at=DUE).count() == 13
    assert set(Tray.objects.values_list("code", "expected_at")) == {
        ("L-0001/1", DUE),
        ("L-0001/2", DUE),
    }


def test_a_tray_that_was_here_before_comes_again_under_its_own_code(lender, site):
    known = factories.tray(lender.sheet, "EXTRACT/9", stage=Stage.WITH_SUPPLIER, owner="loan")
    first = begin_loan(supplier=lender.supplier, lent=Lent(known=[known]), **lender.who)
    assert [line.tray.code for line in first.trays.all()] == ["EXTRACT/9"]
    with refuses("tray_on_loan"):
        begin_loan(supplier=lender.supplier, lent=Lent(known=[known]), **lender.who)
    call_off_loan(loan=first, reason="not needed", **lender.who)
    begin_loan(supplier=lender.supplier, lent=Lent(known=[known]), **lender.who)
    owned = factories.tray(lender.sheet, "OWN/1")
    with refuses("tray_not_lent"):
        begin_loan(supplier=lender.supplier, lent=Lent(known=[owned]), **lender.who)


def test_called_off_nothing_of_it_is_awaited(lender):
    loan = call_off_loan(loan=lender.promised(), reason="case cancelled", **lender.who)
    assert loan.state == "called off"
    assert Tray.objects.get().expected_at is None
    assert set(Unit.objects.values_list("state", flat=True)) == {"entered in error"}


@pytest.mark.parametrize(
    ("code", "values"),
    [
        ("loan_empty", {"lent": Lent()}),
        ("due_back_past", {"due_back": date(2027, 2, 28)}),
        ("too_many_trays", {"lent": 21}),
    ],
)
def test_a_request_that_says_nothing_usable_is_refused(lender, code, values):
    lent = values.get("lent", Lent([lender.sheet.configuration]))
    if lent == 21:
        lent = Lent([lender.sheet.configuration] * 21)
    with refuses(code):
        begin_loan(
            supplier=lender.supplier, lent=lent, due_back=values.get("due_back"), **lender.who
        )
    assert not Loan.objects.exists()


def test_a_configuration_without_a_count_sheet_cannot_be_checked_in(lender, site):
    bare = lender.sheet.configuration
    bare.versions.all().delete()
    with refuses("no_count_sheet"):
        begin_loan(supplier=lender.supplier, lent=Lent([bare]), **lender.who)


def test_a_promise_needs_a_request_and_a_day_that_is_to_come(lender):
    draft = lender.loan()
    with refuses("loan_is"):
        promise_loan(loan=draft, expected_at=DUE, **lender.who)
    asked = ask_for_loan(loan=draft, **lender.who)
    with refuses("loan_date_past"):
        promise_loan(loan=asked, expected_at=NOW - timedelta(minutes=1), **lender.who)


def test_strangers_and_older_pages_are_refused(lender, stranger):
    draft = lender.loan()
    with refuses("loan_elsewhere"):
        ask_for_loan(loan=draft, by=stranger, now=NOW)
    with refuses("seq_stale"):
        ask_for_loan(loan=draft, seq=draft.seq - 1, **lender.who)
