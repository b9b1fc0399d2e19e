"""Ways out in time: the earliest later start at which the case is better off.

Whether a start helps can only turn from no to yes at a moment at which something becomes free: a
tray is ready, another case's tray is back, a box arrives or is replaced or returned, the theatre
or the surgeon is free, a day begins.  So these are the starts that are tried, in order; the first
that helps is the earliest, to the minute, that a person can type.  A start needs `needed_by` not
before now, and neither theatre nor surgeon may be wanted by another booked case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from scheduling.coverage.changes import MoveCase, OrderUnits, Step, Together
from scheduling.coverage.clock import NEVER, Minute, Orders, minute, moment
from scheduling.coverage.tray_group import TrayFacts, tray_facts
from scheduling.coverage.values import SUPPLEMENTARY, Case, Need
from scheduling.coverage.ways_out_search import Attempt, Search
from scheduling.coverage.whatif import HELD, rank

WORKING_DAYS = 5
"""How many working days after the booked one are looked at."""

MOST_STARTS = 16
"""How many starts are tried on the booked day, and how many on the days after it."""

_DAY = timedelta(days=1)


def later_starts(search: Search) -> Iterator[Attempt]:
    """The earliest later start on the same local day, and on the working days that follow.

    Where the first that helps leaves something to wish, also the first that makes a better verdict
    still.  A scenario does not say when theatres work: on the same day every start until midnight
    is looked at; on another day, those from the earliest to the latest time of day at which any
    case is booked.
    """
    if not _time_may_help(search):
        return
    free = sorted(_free_moments(search))
    good_enough = rank(search.report.verdict) - 1
    for window in (_same_day(search), _following_days(search)):
        best = good_enough + 1
        starts = [start for start in _starts(search, free, window) if not _clashes(search, start)]
        for start in starts[:MOST_STARTS]:
            attempt = search.attempt(MoveCase(search.case.ref, moment(start)))
            if attempt and rank(attempt.verdict) < best:
                best = rank(attempt.verdict)
                yield attempt
            if not best:
                break
        good_enough = min(good_enough, best)


def postponed_for_orders(search: Search) -> Iterator[Attempt]:
    """Where planned boxes cannot be ordered in time any more: the earliest start for which they
    can, with the orders."""
    clock, site = search.clock, search.clock.site
    lacking: dict[str, tuple[int, int, Orders]] = {}
    for item in search.open_items(search.scenario.implants):
        short, _, _ = search.lines_of(item).get(Need.PLANNED, HELD)
        implant = search.scenario.implants[item]
        if short and implant.lead_days is None:
            return
        if short and implant.lead_days is not None:
            lacking[item] = short, implant.lead_days, clock.orders_with(implant.supplier)
    here = [orders.delivery(clock.now, lead_days) for _, lead_days, orders in lacking.values()]
    if all(at <= search.needed_by for at in here):
        return
    earliest = max(here) + site.needed_before_minutes
    free = sorted({earliest, *(clock.out(other) for other in _rivals(search))})
    starts = [
        start
        for start in _starts(search, free, [*_same_day(search), *_following_days(search)])
        if start >= earliest and not _clashes(search, start)
    ]
    for start in starts[:MOST_STARTS]:
        steps: list[Step] = [MoveCase(search.case.ref, moment(start))]
        for item, (quantity, lead_days, orders) in lacking.items():
            last = orders.last_order(lead_days, start - site.needed_before_minutes)
            if last is not None:
                arrives = moment(orders.delivery(last, lead_days))
                steps.append(OrderUnits(item, quantity, moment(last), arrives, search.case.ref))
        attempt = search.attempt(Together(tuple(steps)))
        if attempt and search.improves(attempt):
            yield attempt
            return


Window = list[tuple[Minute, Minute]]
"""Spans of starts, first and last, both included."""


def _starts(search: Search, free: Iterable[Minute], window: Window) -> list[Minute]:
    def inside(at: Minute) -> bool:
        return any(first <= at <= last for first, last in window)

    starts = {first for first, _ in window} | {at for at in free if inside(at)}
    return sorted(filter(inside, {_that_reads_back(search, at) for at in starts}))


def _that_reads_back(search: Search, at: Minute) -> Minute:
    """The first moment from `at` on that its local time names: a person who types a time that
    occurs twice says its first occurrence."""
    clock = search.clock
    while clock.local_minute(clock.local_date(at), _minute_of_day(search, at)) != at:
        at += 1
    return at


def _same_day(search: Search) -> Window:
    clock, booked = search.clock, minute(search.case.start)
    first = max(booked + 1, clock.now + clock.site.needed_before_minutes)
    midnight = clock.local_minute(clock.local_date(booked), 1440)
    return [(first, midnight - 1)] if first < midnight else []


def _following_days(search: Search) -> Window:
    clock = search.clock
    of_day = [_minute_of_day(search, minute(c.start)) for c in search.scenario.cases.values()]
    earliest = clock.now + clock.site.needed_before_minutes
    window: Window = []
    day: date = clock.local_date(minute(search.case.start))
    looked_at = 0
    for _ in range(60):  # closed for two months: nothing is offered
        day += _DAY
        if looked_at == WORKING_DAYS:
            break
        if not clock.is_working_day(day):
            continue
        looked_at += 1
        first, last = (clock.local_minute(day, at) for at in (min(of_day), max(of_day)))
        if last >= earliest:
            window.append((max(first, earliest), last))
    return window


def _minute_of_day(search: Search, at: Minute) -> int:
    local = search.clock.local(moment(at))
    assert local is not None
    return local.hour * 60 + local.minute


def _clashes(search: Search, start: Minute) -> bool:
    """Would the theatre or the surgeon be wanted by another booked case?  A case that is not out
    of theatre yet still wants both."""
    case, clock = search.case, search.clock
    out = start + case.minutes + clock.site.out_of_theatre_minutes
    return any(start < clock.out(other) and minute(other.start) < out for other in _rivals(search))


def _rivals(search: Search) -> Iterator[Case]:
    """Other cases with the same theatre or surgeon."""
    case = search.case
    for other in search.scenario.cases.values():
        if other.ref != case.ref and (
            (case.theatre and other.theatre == case.theatre)
            or (case.surgeon and other.surgeon == case.surgeon)
        ):
            yield other


# -- when something becomes free --------------------------------------------------------------


def _time_may_help(search: Search) -> bool:
    """Not if a planned implant is short and no box of it is still to come: on the shelf nothing
    becomes free by waiting but what another case returns, which is never promised as planned."""
    scenario = search.scenario
    if search.report.faults:
        return False
    for (need, item), (short, _, _) in search.gaps.items():
        if need is Need.PLANNED and item in scenario.implants and short:
            units = (unit for unit in scenario.shelf.values() if unit.implant == item)
            if not any(unit.arrives and not unit.hold for unit in units):
                return False
    return True


def _free_moments(search: Search) -> set[Minute]:
    """Starts at which something that the case lacks has just become free."""
    before = search.clock.site.needed_before_minutes
    found = {search.clock.out(other) for other in _rivals(search)}
    for at in (*_trays_free(search), *_boxes_free(search)):
        if at < NEVER:
            found.add(at + before)
    return found


def _trays_free(search: Search) -> Iterator[Minute]:
    clock, scenario = search.clock, search.scenario
    lacking = search.open_items(scenario.instruments)
    if not lacking and not search.open_sets():
        return
    # Sets that are held too: at another start others claim before the case, and may take them.
    packs = _packs(search, lacking)
    wanted = _sets_of(search, search.case) | packs
    speeds: set[int] = set()
    for tray in scenario.trays.values():
        if tray.configuration in wanted and not tray.withdrawn:
            facts = tray_facts(tray, scenario.configurations[tray.configuration])
            both = {facts.configuration.turnaround_minutes, facts.fast_minutes}
            speeds |= both
            yield from _first_ready(search, facts, both)
    for other in scenario.cases.values():
        if other.ref != search.case.ref and (packs or wanted & _sets_of(search, other)):
            for minutes in speeds:
                yield clock.after(clock.out(other), minutes)


def _first_ready(search: Search, facts: TrayFacts, speeds: Iterable[int]) -> Iterator[Minute]:
    clock = search.clock
    if facts.arrives is not None:
        for minutes in speeds:
            yield clock.after(facts.arrives, clock.site.loan_check_in_minutes + minutes)
        return
    ready = clock.now if facts.ready is None else facts.ready
    yield ready
    if facts.sterile_until is not None:
        for minutes in speeds:
            yield clock.after(max(clock.now, ready), minutes)


def _sets_of(search: Search, case: Case) -> set[str]:
    """The configurations of every option of a case's sets."""
    sets = search.scenario.techniques[case.technique].sets
    return {code for asked in sets for option in asked.options for code in option}


def _packs(search: Search, instruments: Iterable[str]) -> set[str]:
    """The configurations of packs that hold one of some instruments."""
    return {
        code
        for code, configuration in search.scenario.configurations.items()
        if configuration.kind == SUPPLEMENTARY
        and not configuration.contents.keys().isdisjoint(instruments)
    }


def _boxes_free(search: Search) -> Iterator[Minute]:
    """Boxes that arrive; contingency boxes of other cases that are returned, or replaced."""
    clock, scenario = search.clock, search.scenario
    items = set(search.open_items(scenario.implants))
    for unit in scenario.shelf.values():
        if unit.implant in items and unit.arrives is not None:
            yield minute(unit.arrives)
    for other in search.others:
        case = scenario.cases[other.case]
        for line in other.lines:
            if line.item not in items or line.need is not Need.CONTINGENCY:
                continue
            yield clock.returned(case)
            implant = scenario.implants[line.item]
            if implant.replaced_on_use and implant.lead_days is not None:
                orders = clock.orders_with(implant.supplier)
                yield orders.delivery(clock.out(case), implant.lead_days)
