"""Things in words, as the pages say them: items, procedures, needs."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from deploy.kit.attributes import ATTRIBUTES, Value, in_words, number_in_words
from scheduling.coverage.values import Case, Component, Scenario

NO_PLAN = "no plan yet"
"""The technique of a case without a plan: it asks for nothing, which the engine calls a fault."""


def item_in_words(scenario: Scenario, ref: str) -> str:
    """`stem A, size 12, HIGH offset, 225 mm`; the bare REF where the catalogue has none."""
    item = scenario.implants.get(ref) or scenario.instruments.get(ref)
    if item is None:
        return ref
    return thing_in_words(item.role, item.attributes)


def line_in_words(role: str, attributes: Mapping[str, Value]) -> str:
    """The system is the line's name and stands with the role: `stem A`.  Where there is none, the
    taper does (`head, taper T1`): heads that differ in nothing else must not read the same."""
    if "system" in attributes:
        return f"{role} {attributes['system']}"
    return f"{role}, taper {attributes['taper']}" if "taper" in attributes else role


def thing_in_words(role: str, attributes: Mapping[str, Value]) -> str:
    """The line and what tells its items apart: `stem A, size 12, HIGH offset, 225 mm`."""
    name = line_in_words(role, attributes)
    words = in_words(attributes)
    return f"{name}, {words}" if words else name


def component_in_words(role: str, component: Component) -> str:
    """As planned; a number of pieces only where it is more than one."""
    words = thing_in_words(role, component.attributes)
    return f"{component.quantity} × {words}" if component.quantity > 1 else words


def procedure_in_words(scenario: Scenario, case: Case) -> str:
    """The technique's name."""
    technique = scenario.techniques.get(case.technique)
    return (technique.name or technique.code) if technique else case.technique


def planned_in_words(case: Case) -> str:
    """The first component with a size (the stem, mostly), else the first one; empty for none."""
    sized = [role for role, part in case.components.items() if "size" in part.attributes]
    for role in sized or list(case.components)[:1]:
        return component_in_words(role, case.components[role])
    return ""


def fact_in_words(value: Value | bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number_in_words(value) if isinstance(value, int | Decimal) else value


def label_in_words(name: str) -> str:
    """A fact's or an attribute's name as people say it: `bone_diameter_mm` → `bone diameter (mm)`.

    >>> label_in_words("bone_diameter_mm")
    'bone diameter (mm)'
    """
    words = name.replace("_", " ")
    return f"{words[:-3]} (mm)" if words.endswith(" mm") else words


def attribute_in_words(key: str, value: Value) -> str:
    """One attribute on a grid's edge: `size 12`, `HIGH offset`, `225 mm`, `neck +4 mm`."""
    if key in ATTRIBUTES and key not in ("system", "taper", "seat_offset", "distal_diameter"):
        return in_words({key: value})
    return f"{key.replace('_', ' ')} {value}"
