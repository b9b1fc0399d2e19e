"""A booked case in the scenario format, with its plan and its reservations."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.scenario_fields import (
    MOST_MINUTES,
    MOST_PIECES,
    REF,
    STAND_IN,
    Entry,
    at,
    code_fault,
    shown,
    value_fault,
)
from scheduling.coverage.values import Case, Component, Priority, Technique

CASE_KEYS = (
    "ref",
    "technique",
    "start",
    "minutes",
    "priority",
    "theatre",
    "surgeon",
    "side",
    "components",
    "facts",
    "confirmed",
    "reserved_trays",
    "reserved_units",
)
SIDES = ("left", "right")


@dataclass(frozen=True, slots=True)
class Known:
    """What a case may refer to; None: it could not be read, so references are not judged."""

    techniques: Mapping[str, Technique] | None
    trays: Container[str] | None
    units: Container[str] | None


def read_case(entry: Entry, zone: ZoneInfo, known: Known) -> Case:
    """A case.  That two cases reserve the same thing is a matter for the engine, not a fault."""
    code = entry.code("technique")
    technique = known.techniques.get(code) if known.techniques is not None else None
    if code and known.techniques is not None and technique is None:
        entry.fault("technique", f"no such technique: {shown(code)}")
    start = None if entry.lacks("start") else entry.moment("start", zone)
    asked = {one.code for one in technique.confirmations} if technique else None
    return Case(
        ref=entry.code("ref"),
        technique=code,
        start=start or STAND_IN,
        minutes=entry.whole("minutes", least=1, most=MOST_MINUTES) or 1,
        priority=Priority(
            entry.one_of("priority", [p.value for p in Priority], Priority.ELECTIVE.value)
        ),
        theatre=entry.text("theatre"),
        surgeon=entry.text("surgeon"),
        side=entry.one_of("side", SIDES) if "side" in entry else "",
        components=read_components(entry.inner("components")),
        facts=read_facts(entry.inner("facts")),
        confirmed=frozenset(_codes(entry, "confirmed", "confirmation of its technique", asked)),
        reserved_trays=_codes(entry, "reserved_trays", "tray", known.trays),
        reserved_units=_codes(entry, "reserved_units", "unit", known.units),
    )


def read_components(entry: Entry) -> dict[str, Component]:
    """Role → the attributes that name the implant, and how many of it."""
    components = {}
    for role, data in entry.data.items():
        if fault := code_fault(role):
            entry.fault(role, fault)
        inner = Entry(data, at(entry.place, role), entry.faults, (REF, *ATTRIBUTES, "quantity"))
        quantity = inner.whole_or("quantity", 1, least=1, most=MOST_PIECES)
        components[role] = Component(inner.attributes(ref=True), quantity)
    return components


def read_facts(entry: Entry) -> dict[str, Value | bool]:
    """Name → a text, a number, true or false.  What is not known is left out."""
    facts: dict[str, Value | bool] = {}
    for name, value in entry.data.items():
        if fault := code_fault(name):
            entry.fault(name, fault)
        if fault := value_fault(value, truth=True):
            entry.fault(name, fault)
        facts[name] = value  # type: ignore[assignment]
    return facts


def _codes(entry: Entry, key: str, noun: str, known: Container[str] | None) -> tuple[str, ...]:
    found = []
    for place, code in entry.codes(key):
        if known is not None and code not in known:
            entry.faults.append(f"{place}: no such {noun}: {shown(code)}")
        found.append(code)
    return tuple(found)
