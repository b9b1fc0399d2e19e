"""What cases keep of what they hold when they are moved: a rule on values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Use:
    """A tray kept busy for a case from `begins` until `ends`; the keys are the rows'."""

    key: int
    tray: int
    begins: datetime
    ends: datetime

    def overlaps(self, other: Use) -> bool:
        """Two uses that touch are apart."""
        return self.tray == other.tray and self.begins < other.ends and other.begins < self.ends


def kept(moved: Sequence[Use], standing: Sequence[Use]) -> frozenset[int]:
    """The keys of the moved uses that can be kept beside those that stand, and beside each other.

    In their order: an earlier one is never given up for a later one.
    """
    taken = list(standing)
    found = set()
    for use in moved:
        if not any(use.overlaps(other) for other in taken):
            taken.append(use)
            found.add(use.key)
    return frozenset(found)
