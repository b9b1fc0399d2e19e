"""The last moment to order, as the supplier takes orders: its own cut-off and closed dates.

Coverage knows the house's clock alone.  An order that the supplier takes earlier than the house
would send it is a way out with an earlier moment, and no way out where that moment is past.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from scheduling.coverage.changes import OrderUnits
from scheduling.coverage.clock import minute, moment
from scheduling.coverage.report import CaseReport
from scheduling.coverage.values import Scenario
from scheduling.coverage.ways_out import Way, WaysOut
from scheduling.ordering.todays_list import clock_of
from scheduling.ordering.values import SupplierTerms


def as_suppliers_take_orders(
    scenario: Scenario,
    report: CaseReport,
    found: WaysOut,
    suppliers: Mapping[str, SupplierTerms],
) -> WaysOut:
    """`suppliers`: by REF.  Ways that order nothing, or of a supplier without terms of its own,
    stay as they are."""
    return replace(found, ways=tuple(_ways(scenario, report, found, suppliers)))


def _ways(
    scenario: Scenario,
    report: CaseReport,
    found: WaysOut,
    suppliers: Mapping[str, SupplierTerms],
) -> Iterator[Way]:
    for way in found.ways:
        change = way.change
        supplier = suppliers.get(change.item) if isinstance(change, OrderUnits) else None
        if not isinstance(change, OrderUnits) or supplier is None:
            yield way
            continue
        lead_days = scenario.implants[change.item].lead_days
        assert lead_days is not None  # else the engine had proposed no order
        clock = clock_of(scenario, supplier)
        last = clock.last_order(lead_days, minute(report.needed_by))
        if last is None:
            continue
        arrives = moment(clock.delivery(last, lead_days))
        yield replace(way, change=replace(change, by=moment(last), arrives=arrives))
