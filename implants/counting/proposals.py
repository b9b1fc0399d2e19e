"""Which place to count next: what was not counted for too long, the dearest first.

A place is worth what would be missed: its boxes that are the only one of their item in the house,
then what its boxes cost, then how many they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from implants.cost import Boxes


@dataclass(frozen=True, slots=True)
class PlaceNow:
    """What the record says of a place: its boxes, and those that are the last of their item."""

    place: str
    boxes: Boxes
    last_ones: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """`days` since the last count; None where there was none."""

    place: PlaceNow
    days: int | None
    is_due: bool


def proposals(
    places: list[PlaceNow], counted: Mapping[str, date], *, today: date, every_days: int
) -> list[Proposal]:
    """Every place, in the order in which to count them."""
    found = [_proposal(place, counted.get(place.place), today, every_days) for place in places]
    return sorted(
        found,
        key=lambda one: (
            not one.is_due,
            -one.place.last_ones,
            -one.place.boxes.cost,
            -one.place.boxes.number,
            -(one.days if one.days is not None else 10_000),
            one.place.place,
        ),
    )


def _proposal(place: PlaceNow, last: date | None, today: date, every_days: int) -> Proposal:
    days = (today - last).days if last else None
    return Proposal(place, days, is_due=days is None or days >= every_days)
