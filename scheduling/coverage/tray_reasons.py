"""Why a set or an instrument line is not held: tray by tray, as data.

Reads the arrangement that is shown; what a tray is promised to and when it is back is said of
that arrangement.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from operator import attrgetter
from typing import NamedTuple

from scheduling.coverage.clock import NEVER, Clock, Minute, minute, moment
from scheduling.coverage.report import Reason, ReasonValue, Status
from scheduling.coverage.tray_claims import Claim, TrayResult
from scheduling.coverage.tray_group import FirstUse, Group, Index, TrayCase
from scheduling.coverage.values import Need


class Use(NamedTuple):
    """A case that a tray serves, and the status that it is promised at."""

    case: Index
    status: Status


Uses = Mapping[str, Sequence[Use]]
"""Tray → its uses, in time order, in the arrangement shown."""


def tray_uses(group: Group, results: Mapping[str, TrayResult]) -> Uses:
    """Who uses which tray of the group, read off the arrangement shown."""
    uses: dict[str, list[Use]] = defaultdict(list)
    for i, asking in enumerate(group.cases):
        result = results[asking.case.ref]
        for number, codes in result.bundle.trays.items():
            for code in codes:
                uses[code].append(Use(i, result.sets[number]))
        for code, status in result.bundle.packs.items():
            uses[code].append(Use(i, status))
    return uses


class CaseTrays:
    """Explains the sets and instruments of case `i` of the group."""

    def __init__(
        self, clock: Clock, group: Group, uses: Uses, i: Index, result: TrayResult
    ) -> None:
        self._clock = clock
        self._fleet = group.fleet
        self._group = group
        self._uses = uses
        self._i = i
        self._result = result
        self._first_use = FirstUse(clock)

    @property
    def _asking(self) -> TrayCase:
        return self._group.cases[self._i]

    # -- sets ---------------------------------------------------------------------------------

    def of_set(self, number: int) -> Iterator[Reason]:
        """Reasons for one of the case's sets; none where it is held."""
        status = self._result.sets[number]
        if number in self._result.gave_up:
            yield Reason("not decided")
        if status is Status.CONDITIONAL:
            for code in self._result.bundle.trays[number]:
                yield from self._depends_on(code)
        elif status is Status.SHORT:
            named = [code for option in self._asking.sets[number].options for code in option]
            free: list[str] = []
            for configuration in dict.fromkeys(named):
                codes = self._fleet.by_configuration.get(configuration, ())
                if not codes:
                    yield Reason("no such tray", {"configuration": configuration})
                reasons, nothing_against = self._candidates(codes)
                yield from reasons
                free += nothing_against
            if free and number not in self._result.gave_up:
                yield Reason(_FREE, {"trays": tuple(free)})
            yield from self._conflict(number)

    def _candidates(self, codes: Sequence[str]) -> tuple[list[Reason], list[str]]:
        """Of the trays that do not serve this set or instrument: why they cannot, the nearest
        first; and those that nothing stands in the way of.  A pack that the case has is passed
        over: what it holds is counted with the case's trays."""
        bundle, sets = self._result.bundle, self._asking.sets
        serving = {code: number for number, trays in bundle.trays.items() for code in trays}
        why = {
            code: Reason("serves another set", {"tray": code, "set": sets[serving[code]].purpose})
            if code in serving
            else self._not_available(code)
            for code in codes
            if code not in bundle.packs
        }
        reasons = sorted((r for r in why.values() if r is not None), key=_how_near)
        return reasons, [code for code, reason in why.items() if reason is None]

    # -- instruments --------------------------------------------------------------------------

    def of_instrument(self, need: Need, ref: str) -> Iterator[Reason]:
        """Reasons for an instrument line; none where it is held."""
        status = self._result.instruments[need][ref]
        if self._undecided(need, ref):
            yield Reason("not decided")
        if status is Status.CONDITIONAL:
            for code in self._result.bundle.packs:
                if ref in self._fleet.facts[code].contents:
                    yield from self._depends_on(code)
        elif status is Status.SHORT:
            yield from self._instrument_lacking(need, ref)

    def _instrument_lacking(self, need: Need, ref: str) -> Iterator[Reason]:
        facts, holding = self._fleet.facts, self._fleet.holding(ref)
        for number, asked in enumerate(self._asking.sets):
            if self._result.sets[number] is Status.SHORT and any(
                not holding.isdisjoint(option) for option in asked.options
            ):
                yield Reason("follows from set", {"set": asked.purpose})
                return
        lacking = [
            code
            for codes in self._result.bundle.trays.values()
            for code in codes
            if facts[code].tray.missing.get(ref, 0)
        ]
        for code in lacking:
            yield Reason("missing from tray", {"tray": code, "instrument": ref})
        held = sum([facts[code].contents.get(ref, 0) for code in self._result.bundle.codes()])
        wanted = self._wanted(need, ref)
        if 0 < held < wanted:
            counts: dict[str, ReasonValue] = {"held": held, "wanted": wanted}
            yield Reason("too few in the trays", {"instrument": ref, **counts})
        elif not held and not lacking:
            yield Reason("in none of the trays", {"instrument": ref})
        packs, incomplete = (
            self._fleet.packs_with.get(ref, ()),
            self._fleet.packs_lacking.get(ref, ()),
        )
        for code in incomplete:
            yield Reason("missing from pack", {"tray": code, "instrument": ref})
        reasons, free = self._candidates(packs)
        yield from reasons
        if free and not self._undecided(need, ref):
            yield Reason(_FREE, {"trays": tuple(free), "instrument": ref})
        if not packs and not incomplete:
            yield Reason("no supplementary pack", {"instrument": ref})
        yield from self._conflict((need, ref), instrument=ref)

    def _undecided(self, need: Need, ref: str) -> bool:
        """Did a search give up on the line, or on the planned one that it comes on top of?"""
        undecided, planned = self._result.gave_up, self._result.instruments[Need.PLANNED]
        below = planned.get(ref) is Status.SHORT and (Need.PLANNED, ref) in undecided
        return below or (need, ref) in undecided

    def _wanted(self, need: Need, ref: str) -> int:
        """How many the line claims: a contingency line the planned ones with the excess."""
        instruments = self._asking.instruments
        planned = instruments[Need.PLANNED].get(ref, 0) if need is Need.CONTINGENCY else 0
        return planned + instruments[need][ref]

    def _conflict(self, claim: Claim, **values: ReasonValue) -> Iterator[Reason]:
        """The cases that cannot all be served, where others than this one are among them."""
        conflict = self._result.conflicts.get(claim)
        if conflict is not None and len(conflict.cases) > 1:
            refs = tuple([self._group.cases[i].case.ref for i in conflict.cases])
            yield Reason("cases conflict", {"cases": refs, "trays": conflict.trays, **values})

    # -- one tray -----------------------------------------------------------------------------

    def _previous(self, code: str) -> Index | None:
        """The case that the tray serves before this one, in the arrangement shown."""
        uses = self._uses.get(code, ())
        place = bisect_left(uses, self._i, key=_case)
        return uses[place - 1].case if place else None

    def _ready(self, code: str, status: Status) -> Minute:
        """When the tray is ready for this case after what it serves before."""
        facts, previous = self._fleet.facts[code], self._previous(code)
        if previous is None:
            return self._first_use.ready(facts, self._asking.end, status)
        minutes = (
            facts.configuration.turnaround_minutes if status is Status.HELD else facts.fast_minutes
        )
        return self._clock.after(self._group.cases[previous].out, minutes)

    def _depends_on(self, code: str) -> Iterator[Reason]:
        """What a tray that is not simply ready in time depends on."""
        tray = self._fleet.facts[code].tray
        if tray.arrives is not None:
            yield Reason(
                "depends on arrival",
                {
                    "tray": code,
                    "arrives": self._clock.local(tray.arrives),
                    "ready": self._local(self._ready_after_arrival(code)),
                },
            )
        elif self._ready(code, Status.HELD) > self._asking.needed_by:
            previous = self._previous(code)
            values: dict[str, ReasonValue] = {
                "tray": code,
                "ready": self._local(self._ready(code, Status.CONDITIONAL)),
                "needed_by": self._local(self._asking.needed_by),
            }
            if previous is not None:
                values["case"] = self._group.cases[previous].case.ref
            yield Reason("depends on fast track", values)

    def _ready_after_arrival(self, code: str) -> Minute:
        """When an awaited tray would be ready: at the standard turnaround if that is in time."""
        facts, previous = self._fleet.facts[code], self._previous(code)
        if previous is None and facts.arrives is not None:
            turnaround = facts.configuration.turnaround_minutes
            check_in = self._clock.site.loan_check_in_minutes
            standard = self._clock.after(facts.arrives, check_in + turnaround)
        else:
            standard = self._ready(code, Status.HELD)
        in_time = standard <= self._asking.needed_by
        return standard if in_time else self._ready(code, Status.CONDITIONAL)

    def reprocessed(self) -> Iterator[Reason]:
        """The trays that pass their sterile date and are to be reprocessed for this case."""
        for code in self._result.bundle.codes():
            facts = self._fleet.facts[code]
            until, first = facts.sterile_until, self._previous(code) is None
            if until is not None and facts.arrives is None and first and until < self._asking.end:
                yield Reason(
                    "reprocess first",
                    {
                        "tray": code,
                        "sterile_until": self._local(until),
                        "needed_by": self._local(self._asking.needed_by),
                    },
                )

    def _not_available(self, code: str) -> Reason | None:
        """Why a tray cannot serve this case; None where it could."""
        tray, clock, asking = self._fleet.facts[code].tray, self._clock, self._asking
        values: dict[str, ReasonValue] = {"tray": code}
        if tray.withdrawn:
            return Reason("withdrawn", {**values, "note": tray.note} if tray.note else values)
        if tray.arrives is not None:
            values["arrives"] = clock.local(tray.arrives)
            if minute(tray.arrives) < clock.now:
                return Reason("loan overdue", values)
        previous, following = self._previous(code), self._following(code)
        ready = self._ready(code, Status.CONDITIONAL)
        if ready > asking.needed_by:
            late: dict[str, ReasonValue] = {
                **values,
                "ready": self._local(ready),
                "minutes_late": None if ready >= NEVER else ready - asking.needed_by,
            }
            if previous is not None:
                ref = self._group.cases[previous].case.ref
                return Reason("promised before", {**late, "case": ref})
            return Reason("ready late", late)
        if following is not None:
            ref = self._group.cases[following].case.ref
            return Reason("promised after", {**values, "case": ref})
        return None

    def _following(self, code: str) -> Index | None:
        """The next case that the tray serves and could not as promised, if it served this one
        too."""
        for later, status in self._uses.get(code, ()):
            if later > self._i:
                fits = self._group.may_serve(code, later, status, self._i)
                return None if fits else later
        return None

    def _local(self, at: Minute) -> ReasonValue:
        return None if at >= NEVER else self._clock.local(moment(at))


_case = attrgetter("case")

_FREE = "free, but not enough"

_NEARNESS = (
    "loan overdue",
    "ready late",
    "promised before",
    "promised after",
    "serves another set",
    "withdrawn",
)


def _how_near(reason: Reason) -> tuple[int, int, str]:
    """What a person can act on first: the tray that is nearest to serving."""
    late = reason.values.get("minutes_late")
    return (
        _NEARNESS.index(reason.code),
        late if isinstance(late, int) else NEVER,
        str(reason.values),
    )
