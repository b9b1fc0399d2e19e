"""What a well-formed scenario may hold and the database refuses: found before anything is saved.

Codes longer than their column, two implants with one GTIN, two boxes of one implant with one
serial, a box promised to a case of the other side.  The engine takes all of these as they are.
Reservations that cannot stand beside each other are another matter: see `keepable`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import chain

from django.db.models import Model

from deploy.kit.models import Site
from implants.models import Implant, Unit
from scheduling.coverage import values
from scheduling.coverage.clock import Clock
from scheduling.coverage.scenario_fields import at, shown
from scheduling.coverage.values import Scenario
from scheduling.models import (
    Case,
    Surgeon,
    Technique,
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
    Theatre,
)
from scheduling.tray_uses import busy
from trays.models import Configuration, Instrument, Tray

KEPT: dict[str, list[tuple[str, str, type[Model], str]]] = {
    "instruments": [(key, key, Instrument, key) for key in ("ref", "role", "name")],
    "implants": [(key, key, Implant, key) for key in ("ref", "role", "name")],
    "configurations": [(key, key, Configuration, key) for key in ("code", "name", "kind")],
    "trays": [(key, key, Tray, key) for key in ("code", "location")],
    "shelf": [
        ("unit", "code", Unit, "code"),
        *[(key, key, Unit, key) for key in ("lot", "serial", "location", "hold")],
    ],
    "techniques": [(key, key, Technique, key) for key in ("code", "name")],
    "cases": [
        ("ref", "ref", Case, "ref"),
        ("theatre", "theatre", Theatre, "code"),
        ("surgeon", "surgeon", Surgeon, "name"),
    ],
}
"""List of the file → the texts of an entry: key in the file, name in the values, column."""


def load_faults(scenario: Scenario) -> list[str]:
    """Every `place: what is wrong`, with the places of the file that was read."""
    return [
        *_too_long("site", scenario.site, [("name", "name", Site, "name")]),
        *chain.from_iterable(
            _too_long(at(key, index), one, columns)
            for key, columns in KEPT.items()
            for index, one in enumerate(getattr(scenario, key).values())
        ),
        *_parts_too_long(scenario),
        *_twice(
            (at("implants", index) + ".gtin", one.gtin, one.gtin)
            for index, one in enumerate(scenario.implants.values())
        ),
        *_twice(
            (at("shelf", index) + ".serial", one.serial, (one.implant, one.serial))
            for index, one in enumerate(scenario.shelf.values())
        ),
        *_boxes_reserved(scenario),
    ]


def _too_long(
    place: str, one: object, columns: list[tuple[str, str, type[Model], str]]
) -> Iterator[str]:
    for key, name, model, column in columns:
        most = model._meta.get_field(column).max_length  # type: ignore[union-attr]
        text = getattr(one, name)
        if most is not None and len(text) > most:
            yield f"{place}.{key}: longer than {most} characters: {shown(text)}"


def _parts_too_long(scenario: Scenario) -> Iterator[str]:
    parts: list[tuple[str, str, type[Model]]] = [
        ("sets", "purpose", TechniqueSet),
        ("rules", "role", TechniqueRule),
        ("checks", "code", TechniqueCheck),
        ("confirmations", "code", TechniqueConfirmation),
    ]
    for index, technique in enumerate(scenario.techniques.values()):
        for key, name, model in parts:
            for number, one in enumerate(getattr(technique, key)):
                place = at(f"{at('techniques', index)}.{key}", number)
                yield from _too_long(place, one, [(name, name, model, name)])


def _twice(entries: Iterable[tuple[str, str, object]]) -> Iterator[str]:
    """Entries are place, text, and what must not be the same in two of them."""
    seen: dict[object, str] = {}
    for place, text, key in entries:
        if text and key in seen:
            yield f"{place}: given twice: {shown(text)} (first in {seen[key]})"
        seen.setdefault(key, place.rpartition(".")[0])


def _boxes_reserved(scenario: Scenario) -> Iterator[str]:
    for index, case in enumerate(scenario.cases.values()):
        for number, code in enumerate(case.reserved_units):
            side = scenario.implants[scenario.shelf[code].implant].attributes.get("side", "")
            if side and case.side and side != case.side:
                place = at(f"{at('cases', index)}.reserved_units", number)
                yield f"{place}: {shown(code)} is for the other side"


def tray_busy(
    scenario: Scenario, clock: Clock, case: values.Case, code: str
) -> tuple[datetime, datetime]:
    """When the case keeps the tray busy."""
    of = scenario.configurations[scenario.trays[code].configuration]
    return busy(clock, case.start, case.minutes, of.fast_track_minutes or of.turnaround_minutes)
