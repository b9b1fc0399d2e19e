"""The attributes that describe an instrument or an implant, and how they are said.

One table for the forms, the scenario files, the pages and the prints.  Pure: imports nothing,
so that the coverage engine may use it too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

Value = str | int | Decimal
"""A stated attribute or fact: a text or a number (never a float: sums must be exact)."""


@dataclass(frozen=True, slots=True)
class Attribute:
    """One attribute: its key in files, its label for people, and whether it is a number."""

    key: str
    label: str
    number: bool
    unit: str = ""


ATTRIBUTES: Mapping[str, Attribute] = {
    a.key: a
    for a in (
        Attribute("system", "system", number=False),
        Attribute("size", "size", number=True),
        Attribute("offset", "offset", number=False),
        Attribute("diameter", "diameter", number=True, unit="mm"),
        Attribute("length", "length", number=True, unit="mm"),
        Attribute("neck_length", "neck length", number=True, unit="mm"),
        Attribute("taper", "taper", number=False),
        Attribute("inner_diameter", "inner diameter", number=True, unit="mm"),
        Attribute("group", "group", number=False),
        Attribute("material", "material", number=False),
        Attribute("side", "side", number=False),
        Attribute("distal_diameter", "distal diameter", number=True, unit="mm"),
        Attribute("seat_offset", "seat offset", number=True, unit="mm"),
    )
}


def number_in_words(value: Value) -> str:
    """Say a number as a label does: no trailing zeros, a true minus sign.

    >>> number_in_words(Decimal("3.50"))
    '3.5'
    """
    if isinstance(value, Decimal):
        text = format(value, "f")
        value = text.rstrip("0").rstrip(".") if "." in text else text
    return str(value).replace("-", "\N{MINUS SIGN}")


def in_words(attributes: Mapping[str, Value]) -> str:
    """Describe an item so that it cannot be misread: `size 12, HIGH offset, 225 mm`.

    The offset and the side are in capitals because they are what a tired person confuses.
    The system and the geometry that only the checks use (taper, seat offset, distal diameter)
    are left to the callers that want them.
    """
    said: list[str] = []

    def number(key: str) -> str:
        return number_in_words(attributes[key])

    if "size" in attributes:
        said.append(f"size {number('size')}")
    if "offset" in attributes:
        said.append(f"{str(attributes['offset']).upper()} offset")
    if "diameter" in attributes:
        said.append(f"\N{LATIN CAPITAL LETTER O WITH STROKE} {number('diameter')} mm")
    if "inner_diameter" in attributes:
        said.append(f"inner \N{LATIN CAPITAL LETTER O WITH STROKE} {number('inner_diameter')} mm")
    if "neck_length" in attributes:
        sign = "+" if Decimal(attributes["neck_length"]) >= 0 else ""
        said.append(f"neck {sign}{number('neck_length')} mm")
    if "length" in attributes:
        said.append(f"{number('length')} mm")
    if "group" in attributes:
        said.append(f"group {attributes['group']}")
    if "material" in attributes:
        said.append(str(attributes["material"]))
    if "side" in attributes:
        said.append(str(attributes["side"]).upper())
    return ", ".join(said)
