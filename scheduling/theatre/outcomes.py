"""What can come of a box that was taken for a case."""

from __future__ import annotations

from enum import StrEnum


class Outcome(StrEnum):
    IMPLANTED = "implanted"
    WASTED = "wasted"
    RETURNED = "returned unopened"
