from __future__ import annotations

from datetime import date

import pytest

from scheduling.coverage.changes import OrderUnits
from scheduling.coverage.engine import Decision
from scheduling.coverage.ways_out import WaysOut, ways_out
from scheduling.ordering.supplier_moments import as_suppliers_take_orders
from scheduling.ordering.values import SupplierTerms
from tests.coverage_engine.build import implant, scenario, wants


def orders_of(supplier: SupplierTerms | None) -> list[str]:
    """The last moments of the orders that close the gap of C1, which needs a stem by Thursday
    07:00; a delivery of one working day comes at noon, the house's cut-off is 16:00."""
    decision = Decision(
        scenario(implant("STEM-12", lead_days=1), wants("C1", "Thu 08:00", planned="STEM-12"))
    )
    found: WaysOut = as_suppliers_take_orders(
        decision.scenario,
        decision.report.case("C1"),
        ways_out(decision, "C1"),
        {"STEM-12": supplier} if supplier else {},
    )
    changes = [way.change for way in found.ways if isinstance(way.change, OrderUnits)]
    return [f"{change.by:%a %H:%M} for {change.arrives:%a %H:%M}" for change in changes]


TUESDAY = frozenset({date(2027, 3, 2)})


@pytest.mark.parametrize(
    ("supplier", "orders"),
    [
        (None, ["Tue 16:00 for Wed 12:00"]),
        (SupplierTerms("N", "Maker North"), ["Tue 16:00 for Wed 12:00"]),
        (SupplierTerms("N", "Maker North", cut_off_minute=660), ["Tue 11:00 for Wed 12:00"]),
        (SupplierTerms("N", "Maker North", closed_dates=TUESDAY), ["Mon 16:00 for Wed 12:00"]),
        (SupplierTerms("N", "Maker North", 300, TUESDAY), []),
    ],
)
def test_an_order_meets_the_suppliers_cut_off_and_closed_dates(
    supplier: SupplierTerms | None, orders: list[str]
) -> None:
    """The last one: it is Monday 06:00, past a cut-off of 05:00, and closed on Tuesday."""
    assert orders_of(supplier) == orders
