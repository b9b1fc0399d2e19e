"""What to order today, from three sources: gaps of booked cases, what was used, par levels.

Pure: the coverage's scenario and report, and what the house's books say beside it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from zoneinfo import ZoneInfo

from scheduling.coverage.clock import Clock, Orders, minute, moment
from scheduling.coverage.report import CaseReport, Line, Report
from scheduling.coverage.values import Scenario, Unit
from scheduling.gaps import sentences
from scheduling.ordering.values import (
    AskLine,
    HouseStock,
    Ordered,
    ToOrder,
    Use,
    Want,
)
from scheduling.words import item_in_words

BUY, BILL_ONLY = "buy", "bill the used box, send none"
"""The terms that ask for a box and settle no bill, and those that bring none."""

LOAN = "loan"

Short = list[tuple[CaseReport, Line]]
"""The lines of cases that are short of one item."""


def todays_list(scenario: Scenario, report: Report, house: HouseStock) -> tuple[ToOrder, ...]:
    """Every item of which something is to be asked for, or of which it is too late; what is
    planned first, then by the last moment.  No query."""
    short = shorts_by_item(scenario, report)
    promised = {unit for case in report.cases for line in case.lines for unit in line.units}
    shelf: dict[str, list[Unit]] = defaultdict(list)
    for unit in scenario.shelf.values():
        shelf[unit.implant].append(unit)
    clock = Clock(scenario.site)
    rows = []
    for ref in sorted({*short, *house.uses, *house.par} & set(scenario.implants)):
        row = _row(scenario, house, ref, short.get(ref, []), shelf[ref], promised, clock)
        if row.lines or row.too_late:
            rows.append(row)
    return tuple(sorted(rows, key=urgency))


def shorts_by_item(
    scenario: Scenario, report: Report
) -> Mapping[str, list[tuple[CaseReport, Line]]]:
    found: dict[str, list[tuple[CaseReport, Line]]] = defaultdict(list)
    for case in report.cases:
        for line in case.lines:
            if line.short and line.item in scenario.implants:
                found[line.item].append((case, line))
    return found


def urgency(row: ToOrder) -> tuple[bool, bool, bool, float, str]:
    """Cases first, what they plan before the rest; then what is too late or has no lead time, for
    somebody must ring."""
    needed = [want.needed_by for want in (*row.wants, *row.too_late)]
    first = row.order_by or min(needed, default=None)
    return (
        not needed,
        not row.planned,
        row.order_by is not None,
        first.timestamp() if first else 0.0,
        row.ref,
    )


def _row(
    scenario: Scenario,
    house: HouseStock,
    ref: str,
    short: Short,
    units: list[Unit],
    promised: set[str],
    clock: Clock,
) -> ToOrder:
    lead_days = scenario.implants[ref].lead_days
    orders = clock.orders_with(scenario.implants[ref].supplier)
    wants = list(_wants(scenario, orders, short, lead_days))
    in_time = tuple(want for want in wants if want.order_by or lead_days is None)
    uses = house.uses.get(ref, ())
    ordered = house.ordered.get(ref, ())
    undated = sum(each.undated for each in ordered)
    # A loan closes a case's gap, and goes back: it is no stock of the house.
    own = [unit for unit in units if unit.owner != LOAN]
    awaited = [unit for unit in own if unit.arrives is not None and not unit.hold]
    then = clock.local_date(orders.delivery(clock.now, lead_days or 0))
    usable = _usable(own, then)
    free = _free_on_order(awaited, ordered, undated, promised)
    level = house.par.get(ref)
    # With a par level it is the level that says whether a box of the house's own is replaced.
    told_apart = {BILL_ONLY} if level is None else {BILL_ONLY, BUY}
    replacing = sum(use.terms not in told_apart for use in uses)
    for_cases = max(0, sum(want.number for want in in_time) - undated)
    for_uses = max(0, replacing - free)
    for_par = max(0, (level or 0) - usable - len(awaited) - undated)
    return ToOrder(
        ref=ref,
        words=item_in_words(scenario, ref),
        supplier=house.suppliers.get(ref),
        superseded_by=house.superseded.get(ref, ""),
        lead_days=lead_days,
        wants=in_time,
        too_late=tuple(want for want in wants if want not in in_time),
        uses=uses,
        replacing=replacing,
        ordered=ordered,
        par=level,
        usable=usable,
        awaited=len(awaited),
        undated=undated,
        free_on_order=free,
        for_cases=for_cases,
        for_uses=for_uses,
        for_par=for_par,
        lines=tuple(_lines(max(for_cases, for_uses, for_par), uses, usual_owner(units))),
    )


def _wants(
    scenario: Scenario,
    orders: Orders,
    short: Short,
    lead_days: int | None,
) -> Iterator[Want]:
    zone = ZoneInfo(scenario.site.timezone)
    for case, line in sorted(short, key=lambda pair: (pair[0].needed_by, pair[0].case)):
        last = (
            orders.last_order(lead_days, minute(case.needed_by)) if lead_days is not None else None
        )
        yield Want(
            case=case.case,
            need=line.need,
            number=line.short,
            needed_by=case.needed_by.astimezone(zone),
            order_by=moment(last).astimezone(zone) if last is not None else None,
            why=sentences(line.because),
        )


def _usable(units: list[Unit], then: date) -> int:
    """Boxes here, on no hold, and in date still `then`, when an order placed now would be here."""
    return sum(
        unit.arrives is None and not unit.hold and (unit.expiry is None or unit.expiry >= then)
        for unit in units
    )


def _free_on_order(
    awaited: list[Unit], ordered: tuple[Ordered, ...], undated: int, promised: set[str]
) -> int:
    """On order, and neither counted on by a case nor ordered in place of a used box."""
    unpromised = sum(unit.code not in promised for unit in awaited) + undated
    return max(0, unpromised - sum(min(each.replacing, each.to_come) for each in ordered))


def usual_owner(units: list[Unit]) -> str:
    """As whose the item mostly stands here; a loan goes back, so it is no usual way."""
    owners = Counter(unit.owner for unit in units if unit.owner != LOAN)
    return max(sorted(owners), key=lambda owner: owners[owner]) if owners else "owned"


def _lines(boxes: int, uses: tuple[Use, ...], usual: str) -> Iterator[AskLine]:
    """Bills first; boxes that settle a use come on its terms, the rest as the item usually is."""
    left = boxes
    for (owner, terms), number in sorted(Counter((use.owner, use.terms) for use in uses).items()):
        if terms == BILL_ONLY:
            yield AskLine(owner, terms, number)
        elif (terms != BUY or owner != usual) and (quantity := min(number, left)):
            yield AskLine(owner, terms, quantity)
            left -= quantity
    if left:
        yield AskLine(usual, BUY, left)
