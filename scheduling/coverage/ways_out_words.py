"""Ways out in words: what to do, and what then becomes of which case.  Times are local."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.coverage.changes import (
    AddPacks,
    Change,
    FastTrack,
    LoanBy,
    MoveCase,
    OrderUnits,
    ReleaseReservation,
    SwapTrays,
    Together,
    UnitBy,
    UseOption,
)
from scheduling.coverage.reasons import names, when
from scheduling.coverage.report import CaseReport, Verdict
from scheduling.coverage.ways_out import Way

Name = Callable[[str], str]
"""An item's or a configuration's code → how it is called; the code itself where nobody knows."""


@dataclass(frozen=True, slots=True)
class WayInWords:
    """`do`: what to do.  `effects`: what then becomes of this case and of others, a sentence each;
    what others pay last.  No sentence has a full stop."""

    do: str
    effects: tuple[str, ...]
    costs_others: bool


def way_in_words(way: Way, zone: ZoneInfo, name: Name = str) -> WayInWords:
    return WayInWords(
        do=change_in_words(way.change, zone, name, of=way.case),
        effects=tuple(_effects(way)),
        costs_others=bool(way.costs),
    )


def nothing_in_words(report: CaseReport) -> str:
    """Why no way is listed for a case."""
    if report.verdict is Verdict.COVERED:
        return "nothing, the case is covered"
    if report.faults:
        return "nothing outside the plan: its fault is to be mended first"
    if report.questions and report.verdict is Verdict.NOT_KNOWN:
        several = "s are" if len(report.questions) > 1 else " is"
        return f"nothing outside the plan: its open question{several} to be answered first"
    return "nothing that was tried makes the verdict better"


def change_in_words(change: Change, zone: ZoneInfo, name: Name = str, *, of: str) -> str:
    """One change as an instruction.  `of`: the case that is spoken of, "this case"."""

    def local(moment: datetime) -> str:
        return when(moment.astimezone(zone))

    def case(ref: str) -> str:
        return "this case" if ref == of else f"case {ref}"

    match change:
        case UseOption():
            option = names(tuple(name(code) for code in change.option))
            return (
                f"use another option for {change.purpose} of {case(change.case)}: {option}, "
                f"and release {names(change.released)}"
            )
        case SwapTrays():
            return (
                f"swap trays with {case(change.other)}: {change.other_tray} comes here, "
                f"{change.tray} goes there"
            )
        case ReleaseReservation():
            return (
                f"release what {case(change.case)} has reserved: "
                f"{names(change.trays + change.units)}"
            )
        case AddPacks():
            packs = "a supplementary pack"
            if change.quantity > 1:
                packs = f"{change.quantity} supplementary packs"
            return f"add {packs} of {name(change.instrument)}, sterile by {local(change.by)}"
        case FastTrack():
            after = "" if change.after is None else f" after case {change.after}"
            return f"fast-track {change.tray}{after}: ready {local(change.ready)}"
        case LoanBy():
            loan = f"bring in a loan of {name(change.configuration)}"
            if change.tray is not None:
                loan = f"have loan {change.tray} here"
            fast = "fast-tracked, " if change.fast_track else ""
            return f"{loan} by {local(change.by)}: {fast}ready {local(change.ready)}"
        case OrderUnits():
            return (
                f"order {change.quantity} × {name(change.item)} by {local(change.by)}: "
                f"here {local(change.arrives)}"
            )
        case UnitBy():
            return f"have box {change.unit} ({name(change.item)}) here by {local(change.by)}"
        case MoveCase():
            return f"start {case(change.case)} {local(change.start)}"
        case Together():
            steps = [change_in_words(step, zone, name, of=of) for step in change.steps]
            return "; and ".join(steps)


def _effects(way: Way) -> Iterator[str]:
    """This case first, then those that gain, then those that pay."""
    if way.case in way.then:
        yield f"then {way.then[way.case]}"
    else:
        yield f"closes a gap; still {way.before}"
    if way.meanwhile is not None:
        verdict = way.meanwhile.get(way.case, way.before)
        if verdict is not way.then.get(way.case, way.before):
            yield f"{verdict} until it is here"
    for ref, verdict in sorted(way.then.items()):
        if ref != way.case and ref not in way.costs:
            yield f"case {ref} is then {verdict}"
    for ref in sorted(way.costs):
        if ref in way.then:
            yield f"case {ref} pays for it: then {way.then[ref]}"
        else:
            yield f"case {ref} pays for it: it holds less than now, with the same verdict"
