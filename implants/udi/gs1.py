"""GS1 element strings: a code's text cut into its elements, each checked alone.

Two notations.  Raw, as scanners send it: identifiers and values in a row, GS (0x1D, FNC1) after
a value of variable length.  Bracketed, as it is printed for people: `(01)...(17)...`.
What may stand together is a rule of its own (`associations`).
"""

from __future__ import annotations

import re

from implants.udi.elements import FIXED_LENGTH, Element, element, is_ai, leading_ai
from implants.udi.faults import Fault, ScanError
from implants.udi.keyboard import GS, TYPED_BLANKS, separators_restored

# A bracket within a value is escaped by a backslash, as the GS1 Syntax Engine does.
BRACKETED = re.compile(r"\(([^()]*)\)((?:\\\(|[^(])*)")


def raw_elements(text: str) -> list[Element]:
    """The elements of a raw element string.  ScanError at the first that can't be read."""
    found = []
    rest = separators_restored(text).lstrip(GS)
    while rest:
        ai = leading_ai(rest)
        value = rest[len(ai) :].split(GS, 1)[0]
        fixed = FIXED_LENGTH.get(ai[:2])
        if fixed is not None:
            value = value[:fixed]
        found.append(element(ai, value))
        # Superfluous separators are tolerated (GS1 General Specifications, 7.8.6).
        rest = rest[len(ai) + len(value) :].lstrip(GS)
    if not found:
        raise ScanError(Fault.NOTHING)
    return found


def bracketed_elements(text: str) -> list[Element]:
    """The elements of a bracketed text.  Blanks beside a bracket are no part of a value."""
    found = []
    place = 0
    while place < len(text):
        match = BRACKETED.match(text, place)
        if match is None or not is_ai(match[1]):
            raise ScanError(Fault.BRACKETS, text=text[place:])
        value = match[2].strip(TYPED_BLANKS).replace("\\(", "(")
        found.append(element(match[1], value))
        place = match.end()
    return found
