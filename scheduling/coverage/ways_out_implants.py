"""Ways out for implants: order, have a box here sooner, let go a reservation."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from scheduling.coverage.changes import OrderUnits, ReleaseReservation, UnitBy
from scheduling.coverage.clock import minute, moment
from scheduling.coverage.implant_claims import Eligibility, shelf_order
from scheduling.coverage.values import Unit
from scheduling.coverage.ways_out_search import Attempt, Search

MOST_BOXES = 3
"""How many late boxes of an item are tried, the first to come first."""


def release_units(search: Search) -> Iterator[Attempt]:
    """Reservations of boxes that would serve: another case's, or the case's own, which may hold
    it to a box that is still to come."""
    for item in search.open_items(search.scenario.implants):
        for ref in sorted(search.scenario.cases):
            for code in sorted(search.scenario.cases[ref].reserved_units):
                unit = search.scenario.shelf[code]
                if unit.implant == item and not unit.hold and _in_date(search, unit):
                    attempt = search.attempt(ReleaseReservation(ref, units=(code,)))
                    if attempt:
                        yield attempt


def awaited_boxes(search: Search) -> Iterator[Attempt]:
    """Boxes here by the moment the case needs them: those that it depends on, those that are
    overdue, and those due too late."""
    if search.needed_by < search.clock.now:
        return
    by = moment(search.needed_by)
    for item in search.open_items(search.scenario.implants):
        depends_on = [
            search.scenario.shelf[code]
            for line in search.report.lines
            for code in line.units
            if line.item == item and search.scenario.shelf[code].arrives is not None
        ]
        late = [
            unit
            for unit in search.scenario.shelf.values()
            if unit.implant == item
            and unit.arrives is not None
            and not unit.hold
            and _in_date(search, unit)
            and not search.clock.now <= minute(unit.arrives) <= search.needed_by
        ]
        late.sort(key=lambda unit: (unit.arrives, shelf_order(unit)))
        for unit in (*depends_on, *late[:MOST_BOXES]):
            attempt = search.attempt(UnitBy(unit.code, item, search.case.ref, by))
            if attempt:
                yield attempt


def orders(search: Search) -> Iterator[Attempt]:
    """As few boxes of an item as make a difference (`Search.fewest`), never more than the case
    wants of it, ordered as late as they still come in time."""
    for item in search.open_items(search.scenario.implants):
        lines = search.lines_of(item)
        implant = search.scenario.implants[item]
        lead_days = implant.lead_days
        if lead_days is None or not any(short or shared for short, shared, _ in lines.values()):
            continue
        orders = search.clock.orders_with(implant.supplier)
        last = orders.last_order(lead_days, search.needed_by)
        if last is None:
            continue
        by, arrives = moment(last), moment(orders.delivery(last, lead_days))
        wanted = sum(line.quantity for line in search.report.lines if line.item == item)
        boxes = partial(OrderUnits, item, by=by, arrives=arrives, case=search.case.ref)
        yield from search.fewest(item, wanted, boxes)


def _in_date(search: Search, unit: Unit) -> bool:
    return Eligibility.in_date(unit, search.clock.last_day(search.case))
