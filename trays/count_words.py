"""What is typed or scanned at a count sheet, line by line: a rule on values.

`1` or any number: so many are there.  `0` or `m`: missing.  `p`: all there.  `b`: one is broken.
`r SOURCE`: replaced by one from there.  `f 4 LOT`: all there, four of them filled up from that
LOT.  `<`: back to the line before.  The REF of an instrument
(its code, scanned): one of them is there.
"""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass

BACK = "<"


@dataclass(frozen=True, slots=True)
class Said:
    """`ref` empty: the line at hand.  `present` None: one more than before."""

    ref: str = ""
    present: int | None = None
    broken: int = 0
    replaced_by: str = ""
    refilled: int = 0
    back: bool = False


class CountEntryFault(ValueError):
    """What was typed says nothing about the line."""


def read_entry(text: str, *, expected: int, refs: Container[str]) -> Said:
    """What the text says of a line that expects so many.  CountEntryFault in words."""
    typed = text.strip()
    lower = typed.lower()
    if typed in refs:
        return Said(ref=typed)
    if typed == BACK:
        return Said(back=True)
    if lower == "p":
        return Said(present=expected)
    if lower == "m":
        return Said(present=0)
    if match := re.fullmatch(r"b\s*(\d{1,4})?", lower):
        broken = int(match[1] or 1)
        if not 1 <= broken <= expected:
            raise CountEntryFault(f"broken: 1 to {expected}, the sheet has no more")
        return Said(present=expected - broken, broken=broken)
    if lower == "r":
        raise CountEntryFault("replaced: r and from where, such as “r BASE/4”")
    if match := re.fullmatch(r"r\s+(?:from\s+)?(\S.{0,63})", typed, re.IGNORECASE):
        return Said(present=expected, replaced_by=match[1])
    if match := re.fullmatch(r"f\s*(\d{1,4})\s+(\S.{0,63})", typed, re.IGNORECASE):
        if not 1 <= int(match[1]) <= expected:
            raise CountEntryFault(f"filled up: 1 to {expected}, the sheet has no more")
        return Said(present=expected, replaced_by=match[2], refilled=int(match[1]))
    if re.fullmatch(r"\d{1,4}", typed):
        if int(typed) > expected:
            raise CountEntryFault(f"{typed} is more than the sheet has ({expected})")
        return Said(present=int(typed))
    raise CountEntryFault(
        f"“{typed[:40]}” is no number, no letter of the list and no REF on this sheet"
    )
