"""Choosing an implant by its attributes, one after the other: only what exists can be chosen.

Each choice narrows those after it.  An attribute that follows from the choices before it is not
asked.  Where implants differ in nothing that is written down, their REF is asked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.values import Implant
from scheduling.words import attribute_in_words, thing_in_words

REF = "ref"
GEOMETRY = ("taper", "seat_offset", "distal_diameter")
"""Asked last: mostly they follow from what people choose by."""

ORDER = (*(key for key in ATTRIBUTES if key not in GEOMETRY), *GEOMETRY, REF)


@dataclass(frozen=True, slots=True)
class Option:
    """`text`: what a form sends.  `words`: what people read."""

    text: str
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """`chosen` None: still to be chosen."""

    key: str
    label: str
    options: tuple[Option, ...]
    chosen: str | None


@dataclass(frozen=True, slots=True)
class ComponentChoice:
    """`implant`: the one that is chosen; None while a choice is open.

    `attributes`: what was chosen so far, as the plan keeps it.  `dropped`: what was given and
    does not exist beside the choices before it, in words.
    """

    role: str
    choices: tuple[Choice, ...]
    attributes: Mapping[str, Value]
    implant: Implant | None
    quantity: int = 1
    dropped: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        if self.implant is None:
            return ""
        return thing_in_words(self.role, self.implant.attributes)


def component_choice(
    role: str, implants: Sequence[Implant], given: Mapping[str, str], *, quantity: int = 1
) -> ComponentChoice:
    """`implants`: the catalogue's of the role.  `given`: attribute → what a form sent."""
    left = list(implants)
    choices: list[Choice] = []
    attributes: dict[str, Value] = {}
    dropped: list[str] = []
    for key in telling(implants) or (REF,):
        values = _values(left, key)
        if not values:
            continue
        only_one = len(values) == 1 and all(_has(one, key) for one in left)
        if only_one and choices:
            # It follows from the choices before it; kept where people name implants by it.
            if key not in (*GEOMETRY, REF):
                attributes[key] = values[0]
            continue
        by_text = {text_of(value): value for value in values}
        chosen = given.get(key, "").strip() or None
        is_named = any(text.strip() for text in given.values())
        if chosen is None and key == "system" and only_one and is_named:
            # A component that is named without its line, where there is no other.
            chosen = text_of(values[0])
        if chosen is not None and chosen not in by_text:
            dropped.append(_said(key, chosen, implants))
            chosen = None
        options = tuple(Option(text, _words(key, value)) for text, value in by_text.items())
        choices.append(Choice(key, label_of(key), options, chosen))
        if chosen is not None:
            attributes[key] = by_text[chosen]
            left = [one for one in left if _has(one, key) and text_of(_value(one, key)) == chosen]
    settled = len(left) == 1 and all(choice.chosen is not None for choice in choices)
    return ComponentChoice(
        role,
        tuple(choices),
        attributes,
        left[0] if settled else None,
        quantity,
        tuple(dropped),
    )


def telling(implants: Sequence[Implant]) -> tuple[str, ...]:
    """The attributes that tell the implants apart, each beside those before it; and the line, by
    which people name an implant even where there is no other."""
    groups = [list(implants)]
    kept = []
    for key in ORDER:
        is_line = key == "system" and any(_has(one, key) for one in implants)
        if is_line or any(len({_text(one, key) for one in group}) > 1 for group in groups):
            kept.append(key)
            groups = [part for group in groups for part in _parts(group, key)]
    return tuple(kept)


def text_of(value: Value) -> str:
    """As a form sends it: numbers without trailing zeros."""
    if isinstance(value, Decimal):
        text = format(value, "f")
        return text.rstrip("0").rstrip(".") if "." in text else text
    return str(value)


def label_of(key: str) -> str:
    """The system is the line's name, and people call it so."""
    if key == "system":
        return "line"
    if key == REF:
        return "REF"
    attribute = ATTRIBUTES[key]
    return f"{attribute.label} ({attribute.unit})" if attribute.unit else attribute.label


def _parts(group: list[Implant], key: str) -> list[list[Implant]]:
    parts: dict[str, list[Implant]] = {}
    for one in group:
        parts.setdefault(_text(one, key), []).append(one)
    return list(parts.values())


def _value(one: Implant, key: str) -> Value:
    return one.ref if key == REF else one.attributes[key]


def _has(one: Implant, key: str) -> bool:
    return key == REF or key in one.attributes


def _text(one: Implant, key: str) -> str:
    return text_of(_value(one, key)) if _has(one, key) else ""


def _values(implants: Sequence[Implant], key: str) -> list[Value]:
    """The values there are; numbers by size, offsets and other texts as written."""
    found = {_text(one, key): _value(one, key) for one in implants if _has(one, key)}
    # Beside a number a text would not sort: the catalogue's form allows both.
    numbers = sorted((value for value in found.values() if not isinstance(value, str)), key=Decimal)
    texts = sorted(value for value in found.values() if isinstance(value, str))
    return [*numbers, *_standard_first(texts)]


def _standard_first(texts: list[str]) -> list[str]:
    return sorted(texts, key=lambda text: text != "standard")


def _words(key: str, value: Value) -> str:
    if key == "system":
        return f"Line {value}"
    if key in ("offset", "side"):
        return str(value).upper()
    return text_of(value).replace("-", "\N{MINUS SIGN}") if key != REF else str(value)


def _said(key: str, text: str, implants: Sequence[Implant]) -> str:
    """`size 12`; as it was sent, where no implant of the role ever had it."""
    for one in implants:
        if _text(one, key) == text:
            return attribute_in_words(key, _value(one, key))
    return f"{label_of(key)} {text[:40]}"
