"""A par level proposed for every item that can be ordered, beside the one in force.  Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from implants.par.marginal import NextBox, next_boxes
from implants.par.poisson import Rate
from implants.par.proposal import Demand, Proposal, Terms, propose
from scheduling.coverage.clock import Clock
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario, Supplier, Unit
from scheduling.ordering.todays_list import LOAN, usual_owner
from scheduling.ordering.values import HouseStock, SupplierTerms
from scheduling.words import item_in_words, line_in_words

DAYS_TRIED = 21
"""An order may be placed on any of so many days from now; the longest wait of them counts, so
that weekends and closed dates ahead do."""
NEXT_BOXES = 5


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person chose: which rate, how much of it, over how many days of the record."""

    rate: Rate
    target: Decimal
    days: int


@dataclass(frozen=True, slots=True)
class ParRow:
    """`line`: role and system, under which the items stand together.  `in_force` None: none.
    `boxes`: here or on their way, and on no hold."""

    ref: str
    words: str
    line: str
    in_force: int | None
    boxes: int
    proposal: Proposal

    @property
    def now(self) -> int:
        """What the house keeps: the level in force; without one, the boxes that there are."""
        return self.boxes if self.in_force is None else self.in_force

    @property
    def differs(self) -> bool:
        return self.proposal.level != self.now


@dataclass(frozen=True, slots=True)
class ParTable:
    rows: tuple[ParRow, ...]
    next_boxes: tuple[NextBox, ...]


def par_table(
    scenario: Scenario,
    report: Report,
    house: HouseStock,
    demand: Mapping[str, Demand],
    asked: Asked,
) -> ParTable:
    """Every item with a lead time, by line.  No query."""
    least = wanted_at_once(report)
    shelf: dict[str, list[Unit]] = defaultdict(list)
    for unit in scenario.shelf.values():
        shelf[unit.implant].append(unit)
    clock = Clock(scenario.site)
    waits: dict[tuple[Supplier | None, int], int] = {}
    rows = []
    for ref, item in sorted(scenario.implants.items()):
        if item.lead_days is None:
            continue
        key = item.supplier, item.lead_days
        if key not in waits:
            waits[key] = longest_wait(clock, *key)
        terms = Terms(
            wait_minutes=waits[key],
            least=least[ref],
            shelf_life_days=_shelf_life(house.suppliers.get(ref), shelf[ref]),
            owned=usual_owner(shelf[ref]) == "owned",
        )
        used = demand.get(ref, Demand(0, asked.days))
        rows.append(
            ParRow(
                ref=ref,
                words=item_in_words(scenario, ref),
                line=line_in_words(item.role, item.attributes),
                in_force=house.par.get(ref),
                boxes=sum(not unit.hold and unit.owner != LOAN for unit in shelf[ref]),
                proposal=propose(used, terms, asked.rate, asked.target),
            )
        )
    means = {row.ref: row.proposal.mean for row in rows}
    levels = {row.ref: row.now for row in rows}
    rows.sort(key=lambda row: row.line)
    return ParTable(tuple(rows), tuple(next_boxes(levels, means, NEXT_BOXES)))


def wanted_at_once(report: Report) -> Counter[str]:
    """Item → the most that one booked case wants of it, its contingency and spare included."""
    most: Counter[str] = Counter()
    for case in report.cases:
        wanted: Counter[str] = Counter()
        for line in case.lines:
            wanted[line.item] += line.quantity
        most |= wanted
    return most


def longest_wait(clock: Clock, supplier: Supplier | None, lead_days: int) -> int:
    """Minutes from a use to the shelf at worst: just after the day's cut-off, in the coming
    weeks."""
    today = clock.local_date(clock.now)
    orders = clock.orders_with(supplier)
    moments = [
        clock.local_minute(today + timedelta(days=day), orders.cut_off_minute) + 1
        for day in range(DAYS_TRIED)
    ]
    return max(orders.delivery(moment, lead_days) - moment for moment in moments)


def _shelf_life(supplier: SupplierTerms | None, units: list[Unit]) -> int | None:
    """None where the boxes here say that the item does not expire."""
    if units and all(unit.expiry is None for unit in units):
        return None
    return supplier.use_by_days if supplier else SupplierTerms("", "").use_by_days
