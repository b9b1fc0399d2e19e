"""All that is decided about the trays of one group: claims and reasons, as report lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from scheduling.coverage.clock import Clock, minute, moment
from scheduling.coverage.report import Line, Reason, SetLine, Status
from scheduling.coverage.tray_claims import TrayResult, claim_trays
from scheduling.coverage.tray_group import Fleet, Group, TrayCase
from scheduling.coverage.tray_reasons import CaseTrays, tray_uses
from scheduling.coverage.values import Need


@dataclass(frozen=True, slots=True)
class TrayOutcome:
    """What one case got.  `undecided_…`: what a bounded search left open."""

    sets: tuple[SetLine, ...]
    lines: tuple[Line, ...]
    packs: tuple[str, ...]
    notes: tuple[Reason, ...]
    gave_up: bool
    undecided_sets: frozenset[str]
    undecided_lines: frozenset[tuple[Need, str]]

    def codes(self) -> Iterator[str]:
        """Every tray and pack that the case has."""
        for line in self.sets:
            yield from line.trays
        yield from self.packs


def group_outcome(clock: Clock, group: Group) -> Mapping[str, TrayOutcome]:
    """Decide one group; the outcome by case reference."""
    results = claim_trays(group)
    uses = tray_uses(group, results)
    return {
        asking.case.ref: _outcome(
            asking,
            results[asking.case.ref],
            CaseTrays(clock, group, uses, i, results[asking.case.ref]),
        )
        for i, asking in enumerate(group.cases)
    }


def put_together(asking: TrayCase, parts: Iterable[TrayOutcome]) -> TrayOutcome:
    """The whole case's outcome from those of its parts, in the order of the technique's sets."""
    places = {asked.purpose: place for place, asked in enumerate(asking.sets)}

    def place(part: TrayOutcome) -> int:
        return min((places[line.purpose] for line in part.sets), default=len(places))

    parts = sorted(parts, key=place)
    sets = [line for part in parts for line in part.sets]
    notes = [note for part in parts for note in part.notes]
    return TrayOutcome(
        sets=tuple(sorted(sets, key=lambda line: places[line.purpose])),
        lines=tuple([line for part in parts for line in part.lines]),
        packs=tuple(sorted(code for part in parts for code in part.packs)),
        notes=tuple(sorted(notes, key=_note_order)),
        gave_up=any(part.gave_up for part in parts),
        undecided_sets=frozenset(name for part in parts for name in part.undecided_sets),
        undecided_lines=frozenset(line for part in parts for line in part.undecided_lines),
    )


def told_together(
    clock: Clock,
    fleet: Fleet,
    cases: Iterable[TrayCase],
    outcomes: Mapping[str, TrayOutcome],
) -> dict[str, TrayOutcome]:
    """The outcomes with what only all groups together tell: a tray that an earlier case of another
    group uses is not to be reprocessed, as it is after that use anyway; and an awaited one is ready
    when it is back from there.  `cases` in time order."""
    told: dict[str, TrayOutcome] = {}
    last_user: dict[str, TrayCase] = {}
    for asking in cases:
        outcome = outcomes[asking.case.ref]
        codes = tuple(outcome.codes())
        before = {code: last_user[code] for code in codes if code in last_user}
        told[asking.case.ref] = _ready_again(clock, fleet, before, _spared(before, outcome))
        last_user |= dict.fromkeys(codes, asking)
    return told


Before = Mapping[str, TrayCase]
"""Tray → the case that it serves before."""


def _spared(before: Before, outcome: TrayOutcome) -> TrayOutcome:
    """Without the notes to reprocess what is used before."""

    def stands(note: Reason) -> bool:
        return note.code != _REPROCESS or note.values["tray"] not in before

    if all(map(stands, outcome.notes)):
        return outcome
    return replace(outcome, notes=tuple(filter(stands, outcome.notes)))


def _ready_again(clock: Clock, fleet: Fleet, before: Before, outcome: TrayOutcome) -> TrayOutcome:
    """With awaited trays ready when they are back from the case before.  That is in time at the
    standard turnaround, or the two cases would be of one group."""
    awaited = {code: user for code, user in before.items() if fleet.facts[code].arrives is not None}
    if not awaited:
        return outcome

    def again(reason: Reason) -> Reason:
        tray, ready = str(reason.values.get("tray")), reason.values.get("ready")
        if reason.code != _ARRIVAL or tray not in awaited or not isinstance(ready, datetime):
            return reason
        user = awaited[tray]
        if minute(ready) >= user.out:
            return reason  # told already: the case before is of the same group
        turnaround = fleet.facts[tray].configuration.turnaround_minutes
        back = clock.after(user.out, turnaround)
        return Reason(_ARRIVAL, {**reason.values, "ready": clock.local(moment(back))})

    return replace(
        outcome,
        sets=tuple([replace(of, because=tuple(map(again, of.because))) for of in outcome.sets]),
        lines=tuple([of._replace(because=tuple(map(again, of.because))) for of in outcome.lines]),
    )


_ARRIVAL = "depends on arrival"
_REPROCESS = "reprocess first"
_NOTES = ("reservation not honoured", _REPROCESS, "search gave up")


def _note_order(note: Reason) -> tuple[int, str]:
    return _NOTES.index(note.code), str(note.values.get("tray"))


def _outcome(asking: TrayCase, result: TrayResult, why: CaseTrays) -> TrayOutcome:
    sets, instruments, held = asking.sets, asking.instruments, Status.HELD
    notes = [
        Reason("reservation not honoured", {"tray": code}) for code in result.refused_reservations
    ]
    notes += why.reprocessed()
    if result.gave_up:
        notes.append(Reason("search gave up", {"claims": len(result.gave_up)}))
    return TrayOutcome(
        sets=tuple(
            SetLine(
                purpose=asked.purpose,
                status=result.sets[number],
                option=(
                    asked.options[result.bundle.options[number]]
                    if number in result.bundle.options
                    else ()
                ),
                trays=result.bundle.trays.get(number, ()),
                because=tuple(why.of_set(number)),
            )
            for number, asked in enumerate(sets)
        ),
        lines=tuple(
            [
                Line(need, ref, quantity, quantity)
                if statuses[ref] is held
                else _line(need, ref, quantity, statuses[ref], why)
                for need, statuses in result.instruments.items()
                for ref, quantity in instruments[need].items()
            ]
        ),
        packs=tuple(sorted(result.bundle.packs)),
        notes=tuple(notes),
        gave_up=bool(result.gave_up),
        undecided_sets=frozenset(
            sets[claim].purpose for claim in result.gave_up if isinstance(claim, int)
        ),
        undecided_lines=frozenset(claim for claim in result.gave_up if isinstance(claim, tuple)),
    )


def _line(need: Need, ref: str, quantity: int, status: Status, why: CaseTrays) -> Line:
    """A line that is not held; an instrument's is wholly in one state."""
    return Line(
        need=need,
        item=ref,
        quantity=quantity,
        held=0,
        conditional=quantity if status is Status.CONDITIONAL else 0,
        short=quantity if status is Status.SHORT else 0,
        because=tuple(why.of_instrument(need, ref)),
    )
