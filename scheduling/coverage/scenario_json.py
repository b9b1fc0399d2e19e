"""Scenario files: JSON text to the engine's values, and back.

A file is read as a whole or refused as a whole, with all of its faults.  A list that is left
out is empty; a key that is not known is a fault, so that a misspelt list is never an empty one.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, TypeVar

from scheduling.coverage.scenario_fields import Entry, JsonObject, at, shown
from scheduling.coverage.scenario_read_case import CASE_KEYS, Known, read_case
from scheduling.coverage.scenario_read_site import KEYS as SITE_KEYS
from scheduling.coverage.scenario_read_site import read_site
from scheduling.coverage.scenario_read_stock import (
    CONFIGURATION_KEYS,
    IMPLANT_KEYS,
    INSTRUMENT_KEYS,
    SUPPLIER_KEYS,
    TRAY_KEYS,
    UNIT_KEYS,
    read_configuration,
    read_implant,
    read_instrument,
    read_supplier,
    read_tray,
    read_unit,
)
from scheduling.coverage.scenario_read_technique import read_technique
from scheduling.coverage.scenario_write import scenario_json
from scheduling.coverage.values import Scenario

T = TypeVar("T")

LISTS = (
    "instruments",
    "suppliers",
    "implants",
    "configurations",
    "trays",
    "shelf",
    "techniques",
    "cases",
)


class ScenarioFaults(ValueError):
    """A file that breaks the format: every fault as `place: what is wrong`, in file order."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


def read_scenario(text: str) -> Scenario:
    """The scenario in a file's text.  Raises ScenarioFaults with all faults at once."""
    return scenario_from(_parsed(text))


def write_scenario(scenario: Scenario) -> str:
    """The canonical text of a scenario: `read_scenario` of it gives an equal scenario."""
    return json.dumps(scenario_json(scenario), ensure_ascii=False, indent=1) + "\n"


def scenario_from(data: object) -> Scenario:
    """The scenario in parsed JSON (`JsonObject`s, decimals as Decimal).  Raises ScenarioFaults."""
    faults: list[str] = []
    top = Entry(data, "", faults, ("site", *LISTS))
    has_site = not top.lacks("site")
    site, zone = read_site(
        top.inner("site", SITE_KEYS) if has_site else Entry(None, "site", [], ())
    )
    instruments = _listed(
        top,
        "instruments",
        "ref",
        lambda d, p: read_instrument(Entry(d, p, faults, INSTRUMENT_KEYS)),
    )
    suppliers = _listed(
        top, "suppliers", "code", lambda d, p: read_supplier(Entry(d, p, faults, SUPPLIER_KEYS))
    )
    implants = _listed(
        top,
        "implants",
        "ref",
        lambda d, p: read_implant(Entry(d, p, faults, IMPLANT_KEYS), suppliers.known),
        # The report names instruments and implants alike by their reference.
        taken=instruments.places,
    )
    configurations = _listed(
        top,
        "configurations",
        "code",
        lambda d, p: read_configuration(Entry(d, p, faults, CONFIGURATION_KEYS), instruments.known),
    )
    trays = _listed(
        top,
        "trays",
        "code",
        lambda d, p: read_tray(Entry(d, p, faults, TRAY_KEYS), zone, configurations.known),
    )
    shelf = _listed(
        top,
        "shelf",
        "unit",
        lambda d, p: read_unit(Entry(d, p, faults, UNIT_KEYS), zone, implants.known),
    )
    kinds = None
    if configurations.known is not None:
        kinds = {code: one.kind for code, one in configurations.known.items()}
    techniques = _listed(
        top, "techniques", "code", lambda d, p: read_technique(d, p, faults, kinds)
    )
    known = Known(techniques.known, trays.known, shelf.known)
    cases = _listed(
        top, "cases", "ref", lambda d, p: read_case(Entry(d, p, faults, CASE_KEYS), zone, known)
    )
    if faults:
        raise ScenarioFaults(faults)
    return Scenario(
        site=site,
        instruments=instruments.by_code,
        implants=implants.by_code,
        configurations=configurations.by_code,
        trays=trays.by_code,
        shelf=shelf.by_code,
        techniques=techniques.by_code,
        cases=cases.by_code,
    )


@dataclass(frozen=True, slots=True)
class _Listed(Generic[T]):
    """One list of the file by code.  `known` is None where it is no list at all: references to
    its entries are then not judged, so that one slip is one fault."""

    by_code: Mapping[str, T]
    places: Mapping[str, str]
    known: Mapping[str, T] | None


def _listed(
    top: Entry,
    key: str,
    name: str,
    read: Callable[[object, str], T],
    taken: Mapping[str, str] | None = None,
) -> _Listed[T]:
    by_code: dict[str, T] = {}
    places: dict[str, str] = dict(taken or {})
    for place, data in top.items(key):
        one = read(data, place)
        code = data.get(name) if isinstance(data, dict) else None
        if not isinstance(code, str):
            continue
        if code in places:
            top.faults.append(
                f"{at(place, name)}: given twice: {shown(code)} (first in {places[code]})"
            )
            continue
        by_code[code], places[code] = one, place
    is_list = isinstance(top.data.get(key, []), list)
    return _Listed(by_code, places, by_code if is_list else None)


def _parsed(text: str) -> object:
    """The JSON in a text.  Raises ScenarioFaults with line and column where it is none.

    What is JSON to a lenient reader only (NaN, numbers beyond all bounds) is let through as a
    value that no field takes, so that it becomes a fault with its place among the others.
    """
    try:
        return json.loads(
            text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"),
            object_pairs_hook=JsonObject.from_pairs,
            parse_int=_whole,
            parse_float=_exact,
            parse_constant=float,
        )
    except json.JSONDecodeError as error:
        fault = f"line {error.lineno}, column {error.colno}: not JSON: {error.msg}"
    except RecursionError:
        fault = "scenario: nested too deeply to be read"
    raise ScenarioFaults([fault])


def _whole(text: str) -> int | Decimal:
    # Python refuses to read an int of thousands of digits; a Decimal of them is merely too large.
    return int(text) if len(text) <= 30 else Decimal(text)


def _exact(text: str) -> Decimal | float:
    try:
        return Decimal(text)
    except ArithmeticError:
        return float(text)
