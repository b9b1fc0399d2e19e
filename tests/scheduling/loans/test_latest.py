"""The latest moment at which a loan may arrive, case by case."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scheduling.loans.latest import Brings, latest_arrivals
from scheduling.loans.progress import progress
from scheduling.models import Loan, TechniqueSet
from scheduling.operations.loans.asking import ask_for_loan, promise_loan
from scheduling.queries import coverage_now
from tests import factories
from tests.factories import NOW


@pytest.fixture
def case(lender, site):
    """On the morrow at 08:30, everything needed by 07:30; it asks for the extraction set."""
    technique = factories.technique(site)
    TechniqueSet.objects.create(
        technique=technique, purpose="extraction", options=[["EXTRACT"]], position=1
    )
    return factories.case(site, technique=technique)


def latest(loan, hours_ahead=48):
    coverage = coverage_now(loan.site)
    (found,) = progress(Loan.objects.filter(pk=loan.pk))
    return latest_arrivals(coverage.scenario, coverage.report, found.brings(), hours_ahead)


def test_a_tray_is_checked_in_and_reprocessed_first(lender, case):
    """Open 06:00 to 22:00: of two hours of check-in and six of turnaround, 90 minutes fall on the
    morning of the case, so it has to be here six and a half hours before closing."""
    (one,) = latest(ask_for_loan(loan=lender.loan(), **lender.who))
    assert (one.case, one.for_what) == ("C1", ("extraction",))
    assert one.arrival == NOW.replace(hour=15, minute=30)
    assert one.ahead == case.start - timedelta(hours=49)
    assert one.flagged(None, NOW), "48 hours before it is needed was on Sunday"


def test_once_it_is_counted_on_it_is_named_still(lender, case):
    asked = ask_for_loan(loan=lender.loan(), **lender.who)
    promised = promise_loan(loan=asked, expected_at=NOW.replace(hour=12), **lender.who)
    (one,) = latest(promised)
    assert one.arrival == NOW.replace(hour=15, minute=30)
    assert not latest(promised, hours_ahead=19)[0].flagged(NOW.replace(hour=12), NOW)


def test_what_another_set_serves_leans_on_no_loan(lender, case):
    factories.tray(lender.sheet, "EXTRACT/1")
    assert latest(ask_for_loan(loan=lender.loan(), **lender.who)) == ()


def test_too_late_even_now(lender, case):
    case.start = NOW + timedelta(hours=3)
    case.save()
    (one,) = latest(ask_for_loan(loan=lender.loan(), **lender.who))
    assert one.arrival is None


def test_a_loan_of_nothing_serves_nobody(lender, case):
    coverage = coverage_now(case.site)
    assert latest_arrivals(coverage.scenario, coverage.report, Brings(), 48) == ()
