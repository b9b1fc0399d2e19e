"""To order and to put away: what booked cases lack of implants, and what is on its way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.report import CaseReport, Line, Report
from scheduling.coverage.values import Need, Scenario, Unit
from scheduling.gaps import sentences
from scheduling.web.arrangement import Promise, promise_by_unit, uses_by_tray
from scheduling.web.tray_queue import configuration_in_words
from scheduling.words import item_in_words


@dataclass(frozen=True, slots=True)
class Want:
    """One case's part of a gap.  `needed_by` is local."""

    case: str
    case_pk: int | None
    need: Need
    number: int
    needed_by: datetime
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemGap:
    """What the booked cases lack of one item.

    `order_by`: the last moment (local) at which an order still comes in time for the first
    of the cases; None with `orderable`: too late for it, even now; not `orderable`: the
    catalogue gives no lead time.
    """

    ref: str
    words: str
    number: int
    wants: tuple[Want, ...]
    needed_by: datetime
    lead_days: int | None
    order_by: datetime | None

    @property
    def orderable(self) -> bool:
        return self.lead_days is not None

    @property
    def planned(self) -> bool:
        return any(want.need is Need.PLANNED for want in self.wants)


@dataclass(frozen=True, slots=True)
class AwaitedBox:
    unit: str
    words: str
    lot: str
    owner: str
    arrives: datetime
    overdue: bool
    promise: Promise | None
    case_pk: int | None


@dataclass(frozen=True, slots=True)
class AwaitedTray:
    tray: str
    configuration: str
    arrives: datetime
    overdue: bool
    cases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WatchedBoxes:
    """Boxes that are short-dated or on hold: one item, one lot, one place, one reason.

    `promised`: (case, key, how many) for those that the present arrangement gives to a case.
    """

    words: str
    units: tuple[str, ...]
    lot: str
    location: str
    owner: str
    expiry: date | None
    hold: str
    past: bool
    promised: tuple[tuple[str, int | None, int], ...]

    @property
    def free(self) -> int:
        return len(self.units) - sum(number for _, _, number in self.promised)


MANY = 5
"""Boxes of one arrival that are one row of the list."""


@dataclass(frozen=True, slots=True)
class Orders:
    short: tuple[ItemGap, ...]
    shared: tuple[ItemGap, ...]
    boxes: tuple[AwaitedBox, ...]
    trays: tuple[AwaitedTray, ...]
    short_dated: tuple[WatchedBoxes, ...]
    on_hold: tuple[WatchedBoxes, ...]
    short_dated_days: int

    @property
    def arrivals(self) -> tuple[tuple[AwaitedBox, ...], ...]:
        """The boxes as the list shows them: each by itself, but those together that come at one
        moment, as one owner's, and that no case counts on, where there are many."""
        rows: list[tuple[AwaitedBox, ...]] = []
        order = sorted(self.boxes, key=lambda box: (box.arrives, box.promise is None, box.owner))
        for key, boxes in groupby(order, lambda box: (box.arrives, box.promise is None, box.owner)):
            together = tuple(boxes)
            if key[1] and len(together) >= MANY:
                rows.append(together)
            else:
                rows.extend((box,) for box in together)
        return tuple(rows)


def orders(
    scenario: Scenario, report: Report, *, case_pks: Mapping[str, int], short_dated_days: int
) -> Orders:
    """No query.  `short_dated_days`: the house's setting."""
    zone = ZoneInfo(scenario.site.timezone)
    today = report.now.astimezone(zone).date()
    limit = today + timedelta(days=short_dated_days)
    promises = promise_by_unit(report)

    here = [unit for unit in scenario.shelf.values() if unit.arrives is None]
    return Orders(
        short=item_gaps(scenario, report, case_pks, zone, shared=False),
        shared=item_gaps(scenario, report, case_pks, zone, shared=True),
        boxes=awaited_boxes(scenario, promises, case_pks, zone),
        trays=awaited_trays(scenario, report, zone),
        short_dated=watched(
            scenario,
            [u for u in here if u.expiry is not None and u.expiry < limit and not u.hold],
            promises,
            case_pks,
            today,
        ),
        on_hold=watched(scenario, [u for u in here if u.hold], promises, case_pks, today),
        short_dated_days=short_dated_days,
    )


def watched(
    scenario: Scenario,
    units: Iterable[Unit],
    promises: Mapping[str, Promise],
    case_pks: Mapping[str, int],
    today: date,
) -> tuple[WatchedBoxes, ...]:
    """First to expire first; boxes that differ in nothing but their code stand together."""
    alike: dict[tuple[str, str, str, str, date | None, str], list[str]] = {}
    for unit in units:
        key = (unit.implant, unit.lot, unit.location, unit.owner, unit.expiry, unit.hold)
        alike.setdefault(key, []).append(unit.code)
    rows = []
    for (ref, lot, location, owner, expiry, hold), codes in alike.items():
        cases = Counter(promises[code].case for code in codes if code in promises)
        rows.append(
            WatchedBoxes(
                words=item_in_words(scenario, ref),
                units=tuple(sorted(codes)),
                lot=lot,
                location=location,
                owner=owner,
                expiry=expiry,
                hold=hold,
                past=expiry is not None and expiry < today,
                promised=tuple(
                    (case, case_pks.get(case), number) for case, number in sorted(cases.items())
                ),
            )
        )
    return tuple(sorted(rows, key=lambda row: (row.expiry or date.max, row.units)))


def item_gaps(
    scenario: Scenario, report: Report, case_pks: Mapping[str, int], zone: ZoneInfo, *, shared: bool
) -> tuple[ItemGap, ...]:
    """Gaps of implants by item: short ones, or those that lean on another case's box."""
    clock = Clock(scenario.site)
    found: dict[str, list[tuple[CaseReport, Line]]] = {}
    for case in report.cases:
        for line in case.lines:
            if line.item in scenario.implants and (line.shared if shared else line.short):
                found.setdefault(line.item, []).append((case, line))
    gaps = []
    for ref, lines in found.items():
        first = min(case.needed_by for case, _ in lines)
        implant = scenario.implants[ref]
        lead_days, orders = implant.lead_days, clock.orders_with(implant.supplier)
        last = orders.last_order(lead_days, minute(first)) if lead_days is not None else None
        last_moment = moment(last) if last is not None else None
        gaps.append(
            ItemGap(
                ref=ref,
                words=item_in_words(scenario, ref),
                number=sum(line.shared if shared else line.short for _, line in lines),
                wants=tuple(
                    Want(
                        case=case.case,
                        case_pk=case_pks.get(case.case),
                        need=line.need,
                        number=line.shared if shared else line.short,
                        needed_by=case.needed_by.astimezone(zone),
                        why=sentences(line.because),
                    )
                    for case, line in lines
                ),
                needed_by=first.astimezone(zone),
                lead_days=lead_days,
                order_by=last_moment.astimezone(zone) if last_moment else None,
            )
        )
    return tuple(sorted(gaps, key=urgency))


def urgency(gap: ItemGap) -> tuple[bool, bool, datetime, str]:
    """Planned first; then what is too late or has no lead time: somebody must ring."""
    return not gap.planned, gap.order_by is not None, gap.order_by or gap.needed_by, gap.ref


def awaited_boxes(
    scenario: Scenario,
    promises: Mapping[str, Promise],
    case_pks: Mapping[str, int],
    zone: ZoneInfo,
) -> tuple[AwaitedBox, ...]:
    """Boxes that are expected, the longest overdue first."""
    boxes = []
    for unit in scenario.shelf.values():
        if unit.arrives is None:
            continue
        promise = promises.get(unit.code)
        boxes.append(
            AwaitedBox(
                unit=unit.code,
                words=item_in_words(scenario, unit.implant),
                lot=unit.lot,
                owner=unit.owner,
                arrives=unit.arrives.astimezone(zone),
                overdue=unit.arrives < scenario.site.now,
                promise=promise,
                case_pk=case_pks.get(promise.case) if promise else None,
            )
        )
    return tuple(sorted(boxes, key=lambda box: (box.arrives, box.unit)))


def awaited_trays(scenario: Scenario, report: Report, zone: ZoneInfo) -> tuple[AwaitedTray, ...]:
    uses = uses_by_tray(report)
    return tuple(
        sorted(
            (
                AwaitedTray(
                    tray=tray.code,
                    configuration=configuration_in_words(scenario, tray),
                    arrives=tray.arrives.astimezone(zone),
                    overdue=tray.arrives < scenario.site.now,
                    cases=tuple(use.case for use in uses.get(tray.code, ())),
                )
                for tray in scenario.trays.values()
                if tray.arrives is not None
            ),
            key=lambda tray: (tray.arrives, tray.tray),
        )
    )
