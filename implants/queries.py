"""Reads of the shelf that pages and operations share."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Count

from implants.models import Implant, Unit
from implants.models.owner import Owner
from implants.recalls.boxes import recall_of
from implants.states import IN_THE_HOUSE, UnitState


@dataclass(frozen=True, slots=True)
class Like:
    """What is known of a box that has come: `same` by its serial, `awaited` that it may be."""

    same: Unit | None
    awaited: Unit | None


def boxes_like(
    implant: Implant, lot: str, serial: str, meant: Collection[int] = frozenset()
) -> Like:
    """Two queries.  Of the awaited boxes the one of the same serial, else of the same lot, else
    the one that is due first; one with another serial is another box.  `meant`: the keys of those
    that it is to be one of, where it may be."""
    same = implant.units.filter(serial=serial).first() if serial else None
    if same is not None and same.expected_at is None:
        return Like(same, None)
    awaited = implant.units.filter(expected_at__isnull=False).order_by("expected_at", "pk")
    possible = [unit for unit in awaited if unit.serial in ("", serial)]
    possible.sort(
        key=lambda unit: (
            unit.serial != serial,
            unit.pk not in meant,
            unit.lot != lot,
            bool(unit.lot),
        )
    )
    return Like(None, possible[0] if possible else None)


def here_of_lot(implant: Implant, lot: str) -> int:
    """How many boxes of the item and lot are in the house.  One query."""
    return implant.units.filter(lot=lot, state__in=IN_THE_HOUSE, expected_at=None).count()


def use_by_of_lot(implant: Implant, lot: str) -> tuple[date | None, bool] | None:
    """Use-by date and `does_not_expire` of the item's boxes: of the lot if any is known; else
    that they do not expire, where none of the item does.  One query."""
    known = implant.units.order_by().values_list("lot", "expiry", "does_not_expire").distinct()
    found = list(known)
    of_lot = {(expiry, endless) for its, expiry, endless in found if lot and its == lot}
    if len(of_lot) == 1:
        return of_lot.pop()
    return (None, True) if found and all(endless for *_, endless in found) else None


def usual_owner(implant: Implant) -> str:
    """Whose most boxes of the item are.  One query."""
    owners = implant.units.order_by().values("owner").annotate(number=Count("pk"))
    found = sorted(owners, key=lambda row: (-row["number"], row["owner"]))
    return found[0]["owner"] if found else Owner.OWNED


def usual_places(implant: Implant) -> list[str]:
    """Where boxes of the item lie, the fullest place first.  One query."""
    lying = implant.units.filter(state=UnitState.ON_THE_SHELF).exclude(location="").order_by()
    places = lying.values("location").annotate(number=Count("pk"))
    return [row["location"] for row in sorted(places, key=lambda row: -row["number"])]


def recalled_because(implant: Implant, lot: str, serial: str) -> str:
    """Why a box of the item with this lot or serial is recalled; empty if it is not.

    By a recall in force, or because another box of its lot is.  Two queries at most.
    """
    if because := recall_of(implant, lot, serial):
        return because
    if not lot:
        return ""
    recalled = implant.units.filter(lot=lot, state=UnitState.RECALLED)
    return recalled.values_list("hold", flat=True).first() or ""
