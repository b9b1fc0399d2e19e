"""Which answers a person may go past, and what that takes.  Pure.

Nobody is locked out of what a patient needs now.  But what may not be used at all (a box that is
expired, on hold, for the other side, not received; a tray that is not sterile) takes a second
person, as its record will.
"""

from __future__ import annotations

from enum import StrEnum


class Takes(StrEnum):
    NOTHING = "nothing"
    REASON = "a reason"
    TWO_PEOPLE = "a reason and a second person"
    NEVER = "is not possible"


NEVER = frozenset(
    {"unreadable", "case is over", "unknown item", "gone", "lot not read", "unknown tray"}
)
"""Nobody knows which box it is, or its record says that it is no more: the record comes first."""
NOT_STERILE = frozenset(
    {"tray on hold", "tray not ready", "sterile date is over", "load withdrawn"}
)
TWO_PEOPLE = frozenset({"expired", "on hold", "other side", "receipt not recorded"}) | NOT_STERILE


def takes(answer: str, code: str, *, is_known: bool) -> Takes:
    """What it takes to open the box, or use the tray, after that answer.  `is_known`: it is one of
    the house."""
    if answer != "STOP":
        return Takes.NOTHING if is_known else Takes.NEVER
    if code in NEVER or not is_known:
        return Takes.NEVER
    return Takes.TWO_PEOPLE if code in TWO_PEOPLE else Takes.REASON
