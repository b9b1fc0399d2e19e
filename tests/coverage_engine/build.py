"""Scenarios in a few words, so that a test of the engine reads like a sentence.

Times are said as people say them: `at("Tue 08:30")` lies in the week of Monday 1 March 2027,
`at("Tue 9 Mar 08:30")` in any other.  The site keeps UTC, sterile services never close, it is
Monday 06:00; a case takes two hours.  Whatever a box, a tray or a set refers to is in the
catalogue without being listed.  The role of an item is its reference up to the dash: `STEM-12` is
a stem.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from deploy.kit.attributes import Value
from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import Line, Reason, Report
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Case,
    Component,
    Condition,
    Configuration,
    Implant,
    Instrument,
    Ladder,
    Need,
    OneOf,
    Priority,
    Rule,
    Scenario,
    Selection,
    SetAsked,
    Site,
    Supplier,
    Technique,
    Tray,
    Unit,
)

MONDAY = datetime(2027, 3, 1, tzinfo=UTC)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY_AND_NIGHT = dict.fromkeys(range(7), (0, 24 * 60))
PURPOSES = ("femur", "cup", "extraction")

Entry = Implant | Instrument | Configuration | Tray | Unit | Technique | Case
Counted = str | Mapping[str, int]
Said = tuple[Scenario, str, dict[str, list[str]]]
"""A scenario, one of its cases, and every reason said of that case (`why`)."""


def at(said: str) -> datetime:
    """`Tue 08:30` of the first week of March 2027, or `Tue 9 Mar 08:30`, in UTC."""
    if len(said.split()) == 2:
        weekday, clock = said.split()
        day = MONDAY + timedelta(days=WEEKDAYS.index(weekday))
        hours, minutes = clock.split(":")
        return day + timedelta(hours=int(hours), minutes=int(minutes))
    moment = datetime.strptime(f"{said} 2027", "%a %d %b %H:%M %Y").replace(tzinfo=UTC)
    assert WEEKDAYS[moment.weekday()] == said[:3], f"no such day: {said}"
    return moment


def site(now: str = "Mon 06:00", **changed: Any) -> Site:
    whole = Site("Ottermere General", "UTC", at(now), opening=DAY_AND_NIGHT)
    return replace(whole, **changed)


def hours(opens: int, closes: int, days: Iterable[int] = range(7)) -> dict[int, tuple[int, int]]:
    """Open from one full hour to another on these weekdays (Monday 0)."""
    return dict.fromkeys(days, (opens * 60, closes * 60))


# -- the catalogue, the tray store and the shelf --------------------------------------------------


def role_of(ref: str) -> str:
    return ref.partition("-")[0].lower()


def implant(
    ref: str,
    *,
    lead_days: int | None = None,
    replaced_on_use: bool = False,
    supplier: Supplier | None = None,
    **attributes: Value,
) -> Implant:
    return Implant(
        ref,
        role_of(ref),
        attributes=attributes,
        lead_days=lead_days,
        replaced_on_use=replaced_on_use,
        supplier=supplier,
    )


def instrument(ref: str, **attributes: Value) -> Instrument:
    return Instrument(ref, role_of(ref), attributes=attributes)


def kind(code: str, holds: str = "", *, turnaround: int = 360, fast: int | None = None) -> Any:
    """A configuration that holds the instruments named, one for each time it is named."""
    return Configuration(code, "base", Counter(holds.split()), turnaround, fast)


def pack(code: str, holds: str, *, turnaround: int = 360, fast: int | None = None) -> Any:
    return Configuration(code, SUPPLEMENTARY, Counter(holds.split()), turnaround, fast)


def tray(
    code: str,
    *,
    ready: str = "",
    arrives: str = "",
    withdrawn: bool = False,
    sterile_until: str = "",
    missing: str = "",
    note: str = "",
) -> Tray:
    """A tray of the configuration before the stroke: `BASE/1`.  On site unless said otherwise."""
    return Tray(
        code,
        code.partition("/")[0],
        ready=None if arrives or withdrawn else at(ready or "Mon 00:00"),
        arrives=at(arrives) if arrives else None,
        withdrawn=withdrawn,
        sterile_until=at(sterile_until) if sterile_until else None,
        missing=Counter(missing.split()),
        note=note,
    )


def box(
    code: str, item: str, *, expiry: date | None = None, arrives: str = "", hold: str = ""
) -> Unit:
    """A boxed implant, by default on the shelf and without a date."""
    return Unit(code, item, expiry, arrives=at(arrives) if arrives else None, hold=hold)


# -- techniques and cases -------------------------------------------------------------------------


def ladder(
    start: Any = None, end: Any = None, *, on: Any = None, below: int = 0, above: int = 0
) -> Ladder:
    """From `start` to `end`; `on` is both."""
    return Ladder(*((start, end) if on is None else (on, on)), below=below, above=above)


def rule(
    role: str,
    need: Need,
    *,
    quantity: int = 1,
    when: Condition | None = None,
    **select: Selection | Value,
) -> Rule:
    """A rule that selects by attributes; a plain value is the only one allowed."""
    return Rule(
        role,
        need,
        {
            key: OneOf((value,)) if isinstance(value, Value) else value
            for key, value in select.items()
        },
        quantity,
        when or {},
    )


def technique(*parts: Any, code: str = "TECHNIQUE", **others: Any) -> Technique:
    """A technique of rules; sets, checks and confirmations by name."""
    return Technique(code, rules=parts, **others)


def opens(*sets: str) -> tuple[SetAsked, ...]:
    """Sets in a few words, `BASE + ADD or ALONE`; their purposes are femur, cup, extraction."""
    return tuple(
        SetAsked(
            purpose,
            tuple(
                tuple(code.strip() for code in option.split("+")) for option in asked.split(" or ")
            ),
        )
        for purpose, asked in zip(PURPOSES, sets, strict=False)
    )


def case(
    ref: str,
    start: str = "Tue 08:00",
    *,
    minutes: int = 120,
    plan: Mapping[str, Mapping[str, Value] | Component] | None = None,
    technique: str = "TECHNIQUE",
    confirmed: Iterable[str] = (),
    priority: Priority = Priority.ELECTIVE,
    reserved_units: str = "",
    reserved_trays: str = "",
    facts: Mapping[str, Value | bool] | None = None,
) -> Case:
    return Case(
        ref,
        technique,
        at(start),
        minutes,
        priority,
        components={
            role: named if isinstance(named, Component) else Component(named)
            for role, named in (plan or {}).items()
        },
        facts=facts or {},
        confirmed=frozenset(confirmed),
        reserved_trays=tuple(reserved_trays.split()),
        reserved_units=tuple(reserved_units.split()),
    )


def wants(
    ref: str,
    start: str = "Tue 08:00",
    planned: Counted = "",
    *,
    contingency: Counted = "",
    spare: Counted = "",
    sets: str | tuple[str, ...] = (),
    **booked: Any,
) -> list[Entry]:
    """A case that wants just these items and sets, by a technique of its own.

    Items are said as `STEM-12 HEAD-32`, or with their quantities as a mapping; a set as in `opens`.
    """
    rules = [
        rule(role_of(item), need, quantity=quantity, ref=item)
        for need, items in zip(Need, (planned, contingency, spare), strict=True)
        for item, quantity in _counted(items).items()
    ]
    own = Technique(
        f"FOR {ref}", rules=tuple(rules), sets=opens(*([sets] if isinstance(sets, str) else sets))
    )
    return [own, case(ref, start, technique=own.code, **booked)]


def _counted(items: Counted) -> Mapping[str, int]:
    return Counter(items.split()) if isinstance(items, str) else items


def scenario(*entries: Entry | list[Entry], at_site: Site | None = None) -> Scenario:
    """All of these, at one site.  Two entries of one kind with the same code are refused."""
    said = [one for entry in entries for one in (entry if isinstance(entry, list) else [entry])]
    whole = Scenario(
        at_site or site(), {}, {}, {}, {}, {}, {"TECHNIQUE": Technique("TECHNIQUE")}, {}
    )
    homes: dict[type, Any] = {
        Instrument: whole.instruments,
        Implant: whole.implants,
        Configuration: whole.configurations,
        Tray: whole.trays,
        Unit: whole.shelf,
        Technique: whole.techniques,
        Case: whole.cases,
    }
    for entry in said:
        home = homes[type(entry)]
        code = entry.ref if isinstance(entry, Instrument | Implant | Case) else entry.code
        assert code not in home or code == "TECHNIQUE", f"{code} is said twice"
        home[code] = entry
    for unit in whole.shelf.values():
        homes[Implant].setdefault(unit.implant, implant(unit.implant))
    for asked in (asked for each in whole.techniques.values() for asked in each.sets):
        for code in (code for option in asked.options for code in option):
            homes[Configuration].setdefault(code, kind(code))
    for configuration in whole.configurations.values():
        for ref in configuration.contents:
            homes[Instrument].setdefault(ref, instrument(ref))
    return whole


# -- what the report says -------------------------------------------------------------------------


def line(report: Report, case: str, need: Need, item: str) -> Line:
    (found,) = (one for one in report.case(case).lines if (one.need, one.item) == (need, item))
    return found


def counts(line: Line) -> dict[str, int]:
    """How many are held, conditional, shared and short, without the noughts."""
    return {
        state: number
        for state in ("held", "conditional", "shared", "short")
        if (number := getattr(line, state))
    }


def said(reasons: Iterable[Reason]) -> list[str]:
    return [sentence(reason) for reason in reasons]


def reasons(report: Report, case: str) -> dict[str, tuple[Reason, ...]]:
    """Every reason for one case: by a set's purpose, by `planned STEM-12`, and `notes`."""
    found = report.case(case)
    by_place = {each.purpose: each.because for each in found.sets}
    by_place |= {f"{each.need} {each.item}": each.because for each in found.lines}
    by_place["notes"] = found.notes
    return {place: because for place, because in by_place.items() if because}


def why(report: Report, case: str) -> dict[str, list[str]]:
    """`reasons`, in words."""
    return {place: said(because) for place, because in reasons(report, case).items()}
