"""Ways out for trays: another option, a swap, a pack, a fast track, a release, a loan.

The engine looks for another option and for swaps by itself wherever nothing binds: an arrangement
that honours a claim is found if there is one.  So these are of use where a reservation binds, or
where what one case gains is another's loss.  A reservation is let go and everything is decided
again; what the cases then use names the way: another option of sets, two trays swapped, or just
the reservation released.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from functools import partial
from itertools import pairwise

from scheduling.coverage.changes import (
    AddPacks,
    Change,
    FastTrack,
    LoanBy,
    ReleaseReservation,
    SwapTrays,
    Together,
    UseOption,
    pack_of,
)
from scheduling.coverage.clock import Minute, minute, moment
from scheduling.coverage.report import Reason, Report, Status
from scheduling.coverage.values import SUPPLEMENTARY, Configuration, SetAsked
from scheduling.coverage.ways_out_search import Attempt, Search, trays_of, uses_of
from scheduling.coverage.whatif import rank

MOST_PACKS = 3
"""How many packs of an instrument are added, at most."""


# -- reservations -----------------------------------------------------------------------------


def release_trays(search: Search) -> Iterator[Attempt]:
    """Reservations of trays and packs that bind the case, or hold from it what would serve."""
    wanted = set(_configurations_wanted(search))
    for ref in sorted(search.scenario.cases):
        reserved = tuple(
            code
            for code in sorted(search.scenario.cases[ref].reserved_trays)
            if search.scenario.trays[code].configuration in wanted
        )
        several = [reserved] if len(reserved) > 1 else []
        for codes in [*((code,) for code in reserved), *several]:
            attempt = search.attempt(ReleaseReservation(ref, trays=codes))
            if attempt:
                named = search.attempt(_named(search, ref, codes, attempt))
                yield named or attempt
                break


def _named(search: Search, ref: str, codes: tuple[str, ...], attempt: Attempt) -> Change:
    """What letting go comes to, read off what the cases use before and after."""
    before, after = search.before.report, attempt.difference.after.report
    for old, new in zip(before.case(ref).sets, after.case(ref).sets, strict=True):
        if new.option and old.option != new.option and set(codes) & set(old.trays):
            return UseOption(ref, new.purpose, new.option, codes)
    if ref != search.case.ref:
        own_before, own_after = trays_of(search.report), trays_of(after.case(search.case.ref))
        for code in codes:
            given = [
                tray
                for tray in own_before
                if tray in trays_of(after.case(ref))
                and tray not in own_after
                and tray not in trays_of(before.case(ref))
            ]
            if code in own_after and given:
                return SwapTrays(search.case.ref, given[0], ref, code)
    return attempt.change


def swaps(search: Search) -> Iterator[Attempt]:
    """Two trays of a configuration change places: where one of them is reserved, or the other
    case's holds an instrument that this case's lacks."""
    lacking = set(search.open_items(search.scenario.instruments))
    own_reserved = set(search.case.reserved_trays)
    trays = search.scenario.trays
    for own in trays_of(search.report):
        for other in search.others:
            reserved = set(search.scenario.cases[other.case].reserved_trays)
            for theirs in trays_of(other):
                if (
                    theirs == own
                    or trays[theirs].configuration != trays[own].configuration
                    or theirs in trays_of(search.report)
                    or own in trays_of(other)
                ):
                    continue
                bound = own in own_reserved or theirs in reserved
                fuller = any(
                    trays[own].missing.get(item, 0) > trays[theirs].missing.get(item, 0)
                    for item in lacking
                )
                if fuller or (bound and search.open_sets()):
                    attempt = search.attempt(SwapTrays(search.case.ref, own, other.case, theirs))
                    if attempt:
                        yield attempt


# -- packs ------------------------------------------------------------------------------------


def packs(search: Search) -> Iterator[Attempt]:
    """As few supplementary packs of an instrument as make a difference (`Search.fewest`), never
    more than all cases want of it, released as late as may be.

    Of all cases: what is added nobody reserves, so one that claims earlier may take it."""
    if search.needed_by < search.clock.now:
        return
    for item in search.open_items(search.scenario.instruments):
        configuration = pack_of(search.scenario, item)
        enough = _packs_wanted(search, item, configuration.contents[item])
        at_once = partial(_packs_released, item, at=search.needed_by)
        for attempt in search.fewest(item, min(enough, MOST_PACKS), at_once):
            assert isinstance(attempt.change, AddPacks)
            latest = _latest(
                search,
                (search.clock.needed_by(search.scenario.cases[c.case]) for c in search.others),
                partial(_packs_released, item, attempt.change.quantity),
            )
            yield latest or attempt


def _packs_wanted(search: Search, item: str, each: int) -> int:
    """How many packs that hold `each` of an instrument would serve every case from packs alone."""
    wanted = (
        sum(line.quantity for line in report.lines if line.item == item)
        for report in search.before.report.cases
    )
    return sum(-(-quantity // each) for quantity in wanted)


def _packs_released(item: str, quantity: int, at: Minute) -> AddPacks:
    return AddPacks(item, quantity, moment(at))


def _latest(
    search: Search, others: Iterable[Minute], change: Callable[[Minute], Change | None]
) -> Attempt | None:
    """The change with the latest moment of readiness that still does for the case what the
    moment at which it needs everything does.

    What a tray can do depends only on the cases that it is ready for, so the moments to try are
    those at which cases need everything: from this case's own on, until one does not help.
    """
    found: Attempt | None = None
    for at in [search.needed_by, *sorted({at for at in others if at > search.needed_by})]:
        tried = change(at)
        attempt = search.attempt(tried) if tried else None
        if attempt is None or (found and rank(attempt.verdict) > rank(found.verdict)):
            return found
        if found and attempt.gaps != found.gaps:
            return found
        found = attempt
    return found


# -- fast track -------------------------------------------------------------------------------


def fast_tracks(search: Search) -> Iterator[Attempt]:
    """The reprocessings that the case's trays depend on being fast: each, and all of them."""
    steps: list[FastTrack] = []
    for reason in _reasons(search):
        ready = reason.values.get("ready")
        if reason.code == "depends on fast track" and isinstance(ready, datetime):
            after = reason.values.get("case")
            tray = str(reason.values["tray"])
            step = FastTrack(
                tray, search.case.ref, None if after is None else str(after), ready.astimezone(UTC)
            )
            if step not in steps:
                steps.append(step)
    tried: list[Change] = [*steps, *([Together(tuple(steps))] if len(steps) > 1 else [])]
    for change in tried:
        attempt = search.attempt(change)
        if attempt and all(_whole(search, attempt, step) for step in steps):
            yield attempt


def _reasons(search: Search) -> Iterator[Reason]:
    for asked in search.report.sets:
        yield from asked.because
    for line in search.report.lines:
        yield from line.because


def _whole(search: Search, attempt: Attempt, step: FastTrack) -> bool:
    """Do the two lives of a fast-tracked tray fit into one?  Every use but the fast-tracked one
    must leave time for the standard turnaround."""
    report: Report = attempt.difference.after.report
    users = {*uses_of(report, step.tray), *uses_of(report, step.twin)}
    in_time = [case for case in report.cases if case.case in users]
    configuration = search.scenario.configurations[search.scenario.trays[step.tray].configuration]
    for first, second in pairwise(in_time):
        if (first.case, second.case) == (step.after, step.case):
            continue
        again = search.clock.after(minute(first.out), configuration.turnaround_minutes)
        if again > minute(second.needed_by):
            return False
    return True


# -- loans ------------------------------------------------------------------------------------


def loans(search: Search) -> Iterator[Attempt]:
    """Trays brought in from outside, as late as may be: those already awaited, for a set or for
    an instrument that the case's trays lack; where none of them serves a short set, new ones."""
    asked = _sets_asked(search)
    awaited: list[tuple[str, Attempt]] = []
    for configuration in dict.fromkeys(_configurations_wanted(search)):
        for code in _awaited(search, configuration):
            attempt = _loan(search, code, configuration)
            if attempt:
                awaited.append((configuration, attempt))
                yield attempt
    for number in search.open_sets():
        line = search.report.sets[number]
        gap = None, line.purpose
        served = any(
            configuration in _of_options(asked[number]) and attempt.leaves(gap) < search.gaps[gap]
            for configuration, attempt in awaited
        )
        if line.status is Status.SHORT and not served:
            yield from _borrow(search, asked[number])


def _borrow(search: Search, asked: SetAsked) -> Iterator[Attempt]:
    """One tray more; where none alone is enough, every tray of an option."""
    alone = [
        attempt
        for configuration in _of_options(asked)
        if (attempt := _loan(search, None, configuration))
    ]
    yield from alone
    for option in asked.options if not alone else ():
        steps = [_loan_step(search, None, code, False, search.needed_by) for code in option]
        fitting = tuple(step for step in steps if step is not None)
        if len(fitting) == len(option) > 1:
            attempt = search.attempt(Together(fitting))
            if attempt:
                yield attempt


def _loan(search: Search, tray: str | None, configuration: str) -> Attempt | None:
    """Latest arrival at the standard turnaround; fast-tracked only where that comes too late."""
    needed = [search.clock.needed_by(search.scenario.cases[c.case]) for c in search.others]
    for fast in (False, True):
        found = _latest(search, needed, partial(_loan_step, search, tray, configuration, fast))
        if found:
            return found
    return None


def _loan_step(
    search: Search, tray: str | None, configuration: str, fast: bool, ready_by: Minute
) -> LoanBy | None:
    """The loan that arrives as late as it can be and still be ready by `ready_by`; None where it
    would have to be here before now."""
    minutes = _minutes(search.scenario.configurations[configuration], fast=fast)
    clock = search.clock
    if minutes is None:
        return None
    minutes += clock.site.loan_check_in_minutes
    early = clock.latest_start(minutes, ready_by)
    if early is None:
        return None
    ready = clock.after(early, minutes)
    return LoanBy(tray, configuration, moment(early), moment(ready), fast_track=fast)


def _minutes(configuration: Configuration, *, fast: bool) -> int | None:
    return configuration.fast_track_minutes if fast else configuration.turnaround_minutes


def _awaited(search: Search, configuration: str) -> list[str]:
    return [
        code
        for code, tray in sorted(search.scenario.trays.items())
        if tray.configuration == configuration and tray.arrives is not None
    ]


# -- what the case asks for -------------------------------------------------------------------


def _sets_asked(search: Search) -> Sequence[SetAsked]:
    """The technique's sets in the order of the report's.  By purpose: the report leaves out those
    whose condition does not hold."""
    asked = {one.purpose: one for one in search.scenario.techniques[search.case.technique].sets}
    return [asked[line.purpose] for line in search.report.sets]


def _of_options(asked: SetAsked) -> list[str]:
    return list(dict.fromkeys(code for option in asked.options for code in option))


def _configurations_wanted(search: Search) -> Iterator[str]:
    """Configurations whose trays or packs might fill a gap of the case."""
    asked = _sets_asked(search)
    lacking = search.open_items(search.scenario.instruments)
    for number, one in enumerate(asked):
        if lacking or number in search.open_sets():
            yield from _of_options(one)
    for code, configuration in sorted(search.scenario.configurations.items()):
        if configuration.kind == SUPPLEMENTARY and any(
            item in configuration.contents for item in lacking
        ):
            yield code
