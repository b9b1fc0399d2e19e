"""The HIBC check character: the sum of the characters' values, modulo 43.

The 43 characters have the values 0 to 42 in this order; the leading `+` counts.  Source: the
worked example of the HIBC standard, `+A123BJC5D6E71` with the sum 145 and the character G.
"""

from __future__ import annotations

CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"


def check_character(payload: str) -> str:
    """The character that belongs behind `payload`.  ValueError if one of its is not a HIBC's."""
    return CHARACTERS[sum(CHARACTERS.index(one) for one in payload) % len(CHARACTERS)]
