from __future__ import annotations

from datetime import timedelta

from implants.operations.theatre import correct_record, record_implanted, record_wasted
from implants.par.demand import days_on_record, demand_by_ref
from implants.par.proposal import Demand
from tests import factories
from tests.factories import NOW


def test_what_was_used_counts_and_what_was_corrected_does_not(
    site, coordinator, manager, django_assert_num_queries
):
    stem = factories.implant(site)
    units = [factories.unit(stem, code) for code in ("U1", "U2", "U3", "U4")]
    long_ago = {"by": coordinator, "now": NOW - timedelta(days=400)}
    today = {"by": coordinator, "now": NOW}
    record_implanted(unit=units[0], case_ref="C1", **long_ago)
    record_implanted(unit=units[1], case_ref="C2", **today)
    record_wasted(unit=units[2], reason="dropped", **today)
    record_implanted(unit=units[3], case_ref="C3", **today)
    correct_record(unit=units[3], reason="other box", second=manager, **today)
    with django_assert_num_queries(1):
        assert demand_by_ref(site, NOW.date(), 365) == {stem.ref: Demand(2, 365)}
    with django_assert_num_queries(1):
        assert days_on_record(site, NOW.date(), 730) == 401
    assert days_on_record(site, NOW.date(), 365) == 365


def test_a_house_without_a_record_knows_one_day(site):
    assert days_on_record(site, NOW.date(), 365) == 1
    assert demand_by_ref(site, NOW.date(), 1) == {}
