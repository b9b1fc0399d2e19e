"""Ways out and what-if as JSON values: what to do first, then what comes of it.  Local times."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
from scheduling.coverage.report import Verdict
from scheduling.coverage.scenario_write import Json, time_json
from scheduling.coverage.ways_out import Way
from scheduling.coverage.ways_out_words import way_in_words
from scheduling.coverage.whatif import CaseDifference, Difference, Gap


def way_json(way: Way, zone: ZoneInfo) -> Json:
    """`then`: case → verdict, of every case whose verdict changes once the way is carried out."""
    words = way_in_words(way, zone)
    known = {
        **_change(way.change, zone),
        "then": _verdicts(way.then),
        "closes": [_gap(gap) for gap in way.closes],
        "costs": list(way.costs),
        "partial": way.partial,
        "say": "; ".join((words.do, *words.effects)),
    }
    if way.meanwhile is not None:
        known["meanwhile"] = _verdicts(way.meanwhile)
    return known


def difference_json(difference: Difference, zone: ZoneInfo) -> Json:
    """`before` and `after` are null for a case that is not booked in one of the two."""
    return {
        "now": time_json(difference.before.now, zone),
        "then": time_json(difference.after.report.now, zone),
        "cases": [_case(case) for case in difference.cases],
    }


def _case(case: CaseDifference) -> Json:
    before, after = case.verdicts
    return {
        "case": case.case,
        "before": before.value if before else None,
        "after": after.value if after else None,
        "better": [_gap(gap) for gap in case.better],
        "worse": [_gap(gap) for gap in case.worse],
    }


def _gap(gap: Gap) -> Json:
    need, what = gap
    return {"set": what} if need is None else {"need": need.value, "item": what}


def _verdicts(verdicts: Mapping[str, Verdict]) -> Json:
    return {ref: verdicts[ref].value for ref in sorted(verdicts)}


def _change(change: Change, zone: ZoneInfo) -> Json:
    match change:
        case UseOption():
            return {
                "do": "use another option",
                "case": change.case,
                "set": change.purpose,
                "option": list(change.option),
                "released": list(change.released),
            }
        case SwapTrays():
            return {
                "do": "swap trays",
                "case": change.case,
                "tray": change.tray,
                "other_case": change.other,
                "other_tray": change.other_tray,
            }
        case ReleaseReservation():
            return {
                "do": "release a reservation",
                "case": change.case,
                "trays": list(change.trays),
                "units": list(change.units),
            }
        case AddPacks():
            return {
                "do": "add a supplementary pack",
                "item": change.instrument,
                "quantity": change.quantity,
                "by": time_json(change.by, zone),
            }
        case FastTrack():
            return {
                "do": "fast-track",
                "tray": change.tray,
                "after": change.after,
                "case": change.case,
                "ready": time_json(change.ready, zone),
            }
        case LoanBy():
            return {
                "do": "bring a loan in",
                "tray": change.tray,
                "configuration": change.configuration,
                "by": time_json(change.by, zone),
                "ready": time_json(change.ready, zone),
                "fast_track": change.fast_track,
            }
        case OrderUnits():
            return {
                "do": "order",
                "item": change.item,
                "quantity": change.quantity,
                "by": time_json(change.by, zone),
                "arrives": time_json(change.arrives, zone),
            }
        case UnitBy():
            return {
                "do": "have a box here",
                "unit": change.unit,
                "item": change.item,
                "by": time_json(change.by, zone),
            }
        case MoveCase():
            return {
                "do": "start later",
                "case": change.case,
                "start": time_json(change.start, zone),
            }
        case Together():
            return {"do": "together", "steps": _steps(change.steps, zone)}


def _steps(steps: Iterable[Change], zone: ZoneInfo) -> list[Json]:
    return [_change(step, zone) for step in steps]
