"""How a case stands in theatre: each box and tray, where it is and what is still asked of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db.models import Q

from implants.models import Unit
from implants.states import HELD, UnitState
from scheduling.models import Case, PickLine
from scheduling.theatre.asking import CaseBoxes, case_boxes
from trays.models import Tray
from trays.stages import Stage


class Standing(StrEnum):
    """In the order in which the page shows them."""

    OPENED = "opened"
    HERE = "here, not opened"
    TO_FETCH = "not here yet"
    IMPLANTED = "implanted"
    WASTED = "wasted"


@dataclass(frozen=True, slots=True)
class BoxLine:
    """`opened_at`: local, None where it is not opened."""

    unit: Unit
    standing: Standing
    need: str
    opened_at: datetime | None

    @property
    def is_asked_for(self) -> bool:
        """When the case is over, something must still be said about it."""
        return self.standing in (Standing.OPENED, Standing.HERE)


@dataclass(frozen=True, slots=True)
class TrayLine:
    tray: Tray
    standing: str

    @property
    def is_asked_for(self) -> bool:
        return self.tray.stage in (Stage.ISSUED, Stage.IN_THEATRE)


@dataclass(frozen=True, slots=True)
class InTheatre:
    boxes: tuple[BoxLine, ...]
    trays: tuple[TrayLine, ...]
    list_code: str

    def groups(self) -> list[tuple[Standing, list[BoxLine]]]:
        found = [(each, [b for b in self.boxes if b.standing is each]) for each in Standing]
        return [(standing, boxes) for standing, boxes in found if boxes]

    @property
    def asked_for(self) -> int:
        """Boxes and trays that are not accounted for yet."""
        lines: Iterable[BoxLine | TrayLine] = (*self.boxes, *self.trays)
        return sum(line.is_asked_for for line in lines)


def in_theatre(case: Case) -> InTheatre:
    """Six queries, however many boxes and trays."""
    boxes = case_boxes(case)
    listed = (
        PickLine.objects.filter(version=boxes.printed, case=case, tray__isnull=False)
        if boxes.printed
        else PickLine.objects.none()
    )
    trays = (
        Tray.objects.filter(
            Q(pk__in=listed.values("tray")) | Q(site=case.site_id, case_ref=case.ref)
        )
        .select_related("configuration")
        .order_by("code")
    )
    lines = [_line(unit, boxes, case) for unit in boxes.units]
    return InTheatre(
        boxes=tuple(line for line in lines if line is not None),
        trays=tuple(TrayLine(tray, _of_tray(tray, case)) for tray in trays),
        list_code=boxes.printed.pick_list.code if boxes.printed else "",
    )


def _line(unit: Unit, boxes: CaseBoxes, case: Case) -> BoxLine | None:
    standing = _standing(unit, boxes, case)
    if standing is None:
        return None
    opened = boxes.opened.get(unit.pk)
    need = boxes.needs.get(unit.pk)
    return BoxLine(
        unit=unit,
        standing=standing,
        need=need.value if need else "beside the list",
        opened_at=case.site.local(opened) if opened else None,
    )


def _standing(unit: Unit, boxes: CaseBoxes, case: Case) -> Standing | None:
    """None for a listed box that another case has used or that has left the house."""
    if unit.state in (UnitState.IMPLANTED, UnitState.WASTED):
        if unit.case_ref != case.ref:
            return None
        return Standing.IMPLANTED if unit.state == UnitState.IMPLANTED else Standing.WASTED
    if unit.pk in boxes.opened:
        return Standing.OPENED
    if unit.case_ref == case.ref and unit.state in (UnitState.PICKED, *HELD):
        return Standing.HERE
    if unit.state in (UnitState.RETURNED, UnitState.STRUCK):
        return None
    return Standing.TO_FETCH


def _of_tray(tray: Tray, case: Case) -> str:
    if tray.case_ref == case.ref and tray.stage in (Stage.ISSUED, Stage.IN_THEATRE):
        return tray.stage
    if tray.case_ref == case.ref:
        return f"{tray.stage}, after this case"
    return "not here yet"
