"""How a case stands in theatre: each box and tray, where it is and what is still asked of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db.models import Q

from deploy.kit.models import Site
from implants.models import Unit
from implants.states import GONE, HELD, UnitState
from scheduling.models import Case, Opening, PickLine
from scheduling.operations.locks import OPEN_STATUSES
from scheduling.theatre.asking import CaseBoxes, case_boxes
from trays.models import Tray
from trays.queries import with_bad_load
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
        with_bad_load(Tray.objects.all())
        .filter(Q(pk__in=listed.values("tray")) | Q(site=case.site_id, case_ref=case.ref))
        .select_related("configuration")
        .order_by("code")
    )
    lines = [_line(unit, boxes, case) for unit in boxes.units]
    return InTheatre(
        boxes=tuple(line for line in lines if line is not None),
        trays=tuple(TrayLine(tray, _of_tray(tray, case)) for tray in trays),
        list_code=boxes.printed.pick_list.code if boxes.printed else "",
    )


def not_accounted_for(site: Site) -> list[tuple[Case, int]]:
    """Cases that are over, the latest first, and how many boxes nobody has said anything of.

    Three queries, however many boxes.
    """
    here = Unit.objects.filter(site=site, state__in=(UnitState.PICKED, *HELD)).exclude(case_ref="")
    opened = Opening.objects.filter(case__site=site).exclude(unit__state__in=GONE)
    boxes = {*here.values_list("case_ref", "pk"), *opened.values_list("case__ref", "unit")}
    numbers = Counter(ref for ref, _ in boxes)
    over = Case.objects.filter(site=site, ref__in=numbers).exclude(status__in=OPEN_STATUSES)
    cases = over.select_related("theatre", "site").order_by("-start", "ref")
    return [(case, numbers[case.ref]) for case in cases]


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
    if tray.case_ref == case.ref and tray.has_bad_load:  # type: ignore[attr-defined]
        return f"{tray.stage}: its load failed or was withdrawn"
    if tray.case_ref == case.ref and tray.stage in (Stage.ISSUED, Stage.IN_THEATRE):
        return tray.stage
    if tray.case_ref == case.ref:
        return f"{tray.stage}, after this case"
    return "not here yet"
