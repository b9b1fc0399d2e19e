"""What a scanner that types like a keyboard does to a code, and what can be told from it.

The separator between values (GS, 0x1D) is no key of a keyboard.  Scanners and terminals put
something in its place; where that is no character of a GS1 value it can only have been the
separator, and is read as one.  `<GS>` is made of characters that a lot may hold, so it is not.

Caps Lock turns the case of every letter round.  It shows in the symbology identifier (`]C1`
comes as `]c1`); the letters of a lot are never turned back by guess, the reader is told.

A wrong keyboard language shows where it makes characters that are not ASCII.  Where it only
swaps letters (Y and Z) it can't be seen in the code: the lot then fits no box on the shelf.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from implants.udi.faults import Fault, ScanError

GS = "\x1d"
STAND_INS = re.compile(r"\{GS\}|\[GS\]|[\^|~\]\N{SYMBOL FOR GROUP SEPARATOR}]")
TYPED_BLANKS = " \t\r\n"

SYMBOLOGY = re.compile(r"\]([A-Za-z])([0-9])")
ELEMENT_STRINGS = frozenset({"]C1", "]d2", "]Q3", "]e0"})
EAN_13, EAN_8 = "]E0", "]E4"
INVERTED_LETTERS = frozenset("cDq")
"""No symbology in use has these: they are C, d and Q with Caps Lock on."""

# The digit row of a French keyboard without Shift, and what else begins a code.
OPENS_A_CODE = frozenset("0123456789(])[&+=\N{LATIN SMALL LETTER A WITH GRAVE}\N{SECTION SIGN}")


@dataclass(frozen=True, slots=True)
class Typed:
    """A scan without what the scanner adds: `symbology` is empty where it sent none.

    `ends_in_blank`: a blank was taken off the end, which in HIBC can be the check character.
    """

    symbology: str
    text: str
    caps_lock: bool = False
    ends_in_blank: bool = False


def separators_restored(text: str) -> str:
    """A raw element string in which every stand-in for the separator is the separator."""
    return STAND_INS.sub(GS, text)


def as_typed(text: str) -> Typed:
    """Take blanks at the ends and the symbology identifier off.  ScanError KEYBOARD."""
    blank = text.rstrip("\t\r\n").endswith(" ")
    text = text.strip(TYPED_BLANKS)
    for character in text.replace("\N{SYMBOL FOR GROUP SEPARATOR}", GS):
        if not character.isascii() and text[0] in OPENS_A_CODE:
            raise ScanError(Fault.KEYBOARD, character=character)
    match = SYMBOLOGY.match(text)
    if match is None:
        return Typed("", text, ends_in_blank=blank)
    letter, symbology, body = match[1], match[0], text[match.end() :]
    if letter in INVERTED_LETTERS:
        return Typed(symbology.swapcase(), body, caps_lock=True, ends_in_blank=blank)
    if symbology == EAN_13 and len(body) != 13:
        # Thirteen digits are all that ]E0 ever carries: this is ]e0 with Caps Lock on.
        return Typed("]e0", body, caps_lock=True)
    return Typed(symbology, body, ends_in_blank=blank)
