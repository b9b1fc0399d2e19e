"""Reasons in words: the data come first (`report.Reason`), and only this module words them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime

from scheduling.coverage.report import Reason, ReasonValue

Values = Mapping[str, ReasonValue]


def when(value: ReasonValue) -> str:
    """A local time as people say it: `Wed 3 Mar 08:30`; None is said as never."""
    if value is None:
        return "never"
    assert isinstance(value, datetime)
    return f"{value:%a} {value.day} {value:%b %H:%M}"


def day(value: ReasonValue) -> str:
    assert isinstance(value, date)
    return f"{value.day} {value:%b %Y}"


def span(value: ReasonValue) -> str:
    """Minutes as hours and minutes: `1 h 25 min`."""
    assert isinstance(value, int)
    hours, minutes = divmod(value, 60)
    if hours >= 48:
        return f"{hours // 24} days"
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def names(value: ReasonValue) -> str:
    assert isinstance(value, tuple)
    return ", ".join(value[:-1]) + (" and " if len(value) > 1 else "") + value[-1]


def _late(values: Values) -> str:
    minutes = values["minutes_late"]
    return "" if minutes is None else f", {span(minutes)} too late"


def _fast_track(values: Values) -> str:
    after = f" after case {values['case']}" if "case" in values else ""
    return (
        f"depends on fast track of {values['tray']}{after}: "
        f"ready {when(values['ready'])}, needed by {when(values['needed_by'])}"
    )


def _competition(values: Values) -> str:
    cases, boxes = values["cases"], values["boxes"]
    assert isinstance(cases, tuple)
    who = f"cases {names(cases)} together want" if _several(cases) else f"case {cases[0]} wants"
    fit = "1 box that serves" if boxes == 1 else f"{boxes} boxes that serve"
    return f"{who} {values['wanted']}, there {'is' if boxes == 1 else 'are'} {fit}"


def _conflict(values: Values) -> str:
    cases, trays = values["cases"], values["trays"]
    assert isinstance(cases, tuple)
    assert isinstance(trays, tuple)
    few = trays if len(trays) <= _FEW else (*trays[: _FEW - 1], f"{len(trays) - _FEW + 1} more")
    holding = f" with {values['instrument']}" if "instrument" in values else ""
    who = "both" if len(cases) == 2 else "all"
    return f"cases {names(cases)} cannot {who} be served{holding} from {names(few)}"


def _others(values: Values, how: str) -> str:
    """The cases that lean on a box already, beside the one that has it first."""
    others = values.get("others")
    return f"{how} case{'s' if _several(others) else ''} {names(others)}" if others else ""


def _not_honoured(values: Values) -> str:
    what = values.get("unit") or values.get("tray")
    return f"the reservation of {what} cannot be honoured and binds nobody"


_FEW = 6
"""Of more trays than this the others are counted, not named."""

_SENTENCES: Mapping[str, Callable[[Values], str]] = {
    # implants
    "on order": lambda v: f"depends on box {v['unit']}, due {when(v['arrives'])}",
    "shared": lambda v: (
        f"shares box {v['unit']} with case {v['case']}, which has it first"
        + _others(v, ", and with")
    ),
    "use replaced": lambda v: (
        f"leans on box {v['unit']} of case {v['case']}{_others(v, ' beside')}; "
        "a use would be replaced in time"
    ),
    "none in the house": lambda v: f"no box of {v['item']} is here or on order",
    "overdue": lambda v: f"box {v['unit']} is overdue since {when(v['arrives'])}",
    "arrives late": lambda v: f"box {v['unit']} arrives {when(v['arrives'])}{_late(v)}",
    "on hold": lambda v: f"box {v['unit']} is on hold: {v['hold']}",
    "promised": lambda v: f"box {v['unit']} is promised to case {v['case']} ({v['need']})",
    "out of date": lambda v: (
        f"box {v['unit']} has use by {day(v['expiry'])}, the case ends on {day(v['case_ends'])}"
    ),
    "more wanted than there are": _competition,
    # trays
    "depends on arrival": lambda v: (
        f"depends on loan {v['tray']}, due {when(v['arrives'])}, ready {when(v['ready'])}"
    ),
    "depends on fast track": _fast_track,
    "no such tray": lambda v: f"there is no tray of {v['configuration']}",
    "withdrawn": lambda v: f"{v['tray']} is on hold" + (f": {v['note']}" if "note" in v else ""),
    "loan overdue": lambda v: f"loan {v['tray']} is overdue since {when(v['arrives'])}",
    "ready late": lambda v: f"{v['tray']} is ready {when(v['ready'])}{_late(v)}",
    "promised before": lambda v: (
        f"{v['tray']} serves case {v['case']} before and is ready {when(v['ready'])}{_late(v)}"
    ),
    "promised after": lambda v: f"{v['tray']} is promised to case {v['case']} soon after",
    "serves another set": lambda v: f"{v['tray']} serves this case's set for {v['set']}",
    "free, but not enough": lambda v: (
        f"{names(v['trays'])} {'are' if _several(v['trays']) else 'is'} free, but "
        + (
            f"that is too few of {v['instrument']}"
            if "instrument" in v
            else "what must be opened beside is not"
        )
    ),
    "cases conflict": _conflict,
    "department full": lambda v: (
        f"sterile services is full: {v['tray']} waits {span(v['waits'])}, longest at {v['stage']}, "
        f"and is ready {when(v['ready'])}{_late(v)}"
    ),
    "reprocess first": lambda v: (
        f"{v['tray']} is sterile until {when(v['sterile_until'])}: "
        f"to be reprocessed by {when(v['needed_by'])}"
    ),
    "follows from set": lambda v: f"follows from the set: {v['set']}",
    "missing from tray": lambda v: f"{v['instrument']} is missing from tray {v['tray']}",
    "missing from pack": lambda v: f"{v['instrument']} is missing from pack {v['tray']}",
    "too few in the trays": lambda v: (
        f"the case's trays hold {v['held']} of the {v['wanted']} {v['instrument']} wanted"
    ),
    "in none of the trays": lambda v: f"none of the case's trays holds {v['instrument']}",
    "no supplementary pack": lambda v: f"there is no supplementary pack of {v['instrument']}",
    # the case
    "reservation not honoured": _not_honoured,
    "ladder cut short": lambda v: (
        f"{v['role']}: {v['wanted']} {v['direction']} by {str(v['attribute']).replace('_', ' ')} "
        "asked for, "
        f"the catalogue holds {v['made'] or 'none'}"
    ),
    "not decided": lambda v: "not decided: the search for an arrangement gave up",
    "search gave up": lambda v: "not decided: the search for an arrangement gave up",
}


def _several(value: ReasonValue) -> bool:
    return isinstance(value, tuple) and len(value) > 1


def sentence(reason: Reason) -> str:
    """The reason as a sentence without a full stop.  KeyError for a code that has no words."""
    return _SENTENCES[reason.code](reason.values)
