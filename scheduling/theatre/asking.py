"""What a case asks for and what of it is here: the boxes of its list, and those taken beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Q

from deploy.kit.attributes import Value
from implants.models import Unit
from implants.states import UnitState
from scheduling.coverage.values import Need
from scheduling.facts import exactly
from scheduling.models import (
    Case,
    Opening,
    PickLine,
    PickListVersion,
    PlanVersion,
    TaperPair,
    UnitReservation,
    Used,
)
from scheduling.operations.locks import OPEN_STATUSES
from scheduling.pick_lists.asking import alike_boxes, box_states
from scheduling.pick_lists.scan_values import Asked, AskedLine, BoxRead, BoxState
from scheduling.theatre.fits import Part, TaperPairs

USED = (UnitState.IMPLANTED, UnitState.WASTED)


@dataclass(frozen=True, slots=True)
class Plan:
    """What is planned, for the words beside an answer and for the rules of fit."""

    components: Mapping[str, Mapping[str, Value]]
    facts: Mapping[str, Value | bool]


@dataclass(frozen=True, slots=True)
class CaseAsks:
    """`asked`: a line a box, its id the box's key, ticked where it was opened.

    `there`: what is opened or implanted and was not wasted, boxes never received here too.
    """

    asked: Asked
    there: tuple[Part, ...]
    plan: Plan
    declared: TaperPairs


def newest_list_of(case: Case) -> PickListVersion | None:
    """The newest printing of the list printed last that names the case.  One query."""
    return (
        PickListVersion.objects.filter(lines__case=case)
        .select_related("pick_list__site")
        .order_by("-pk")
        .first()
    )


def plan_of(case: Case) -> Plan:
    """The plan in force; an empty one where there is none.  One query."""
    plan = PlanVersion.objects.filter(case=case).order_by("-number").first()
    if plan is None:
        return Plan({}, {})
    return Plan(exactly(plan.components), exactly(plan.facts))


def declared_pairs(case: Case) -> TaperPairs:
    """One query."""
    pairs = TaperPair.objects.filter(site=case.site_id)
    return frozenset(pairs.values_list("stem_taper", "head_taper"))


@dataclass(frozen=True, slots=True)
class CaseBoxes:
    """The boxes of a case: on its list, reserved, picked, opened or used for it.

    `needs`: box key → the need it is listed for.  `opened`: box key → when, in UTC.
    """

    printed: PickListVersion | None
    units: tuple[Unit, ...]
    needs: Mapping[int, Need]
    opened: Mapping[int, datetime]

    def is_in(self, unit: Unit) -> bool:
        """Opened or implanted, and not wasted: what the next part must go with."""
        if unit.state == UnitState.IMPLANTED:
            return True
        return unit.pk in self.opened and unit.state != UnitState.WASTED


def case_boxes(case: Case) -> CaseBoxes:
    """Four queries, however many boxes; each box with its implant."""
    printed = newest_list_of(case)
    needs: dict[int, Need] = {}
    if printed is not None:
        lines = PickLine.objects.filter(version=printed, case=case).exclude(unit=None)
        needs = {unit: Need(need) for unit, need in lines.values_list("unit_id", "need")}
    reserved = UnitReservation.objects.filter(case=case, freed_at=None).values("unit")
    opened = dict(Opening.objects.filter(case=case).values_list("unit_id", "at"))
    units = Unit.objects.filter(
        Q(pk__in=[*needs, *opened]) | Q(pk__in=reserved) | Q(site=case.site_id, case_ref=case.ref)
    )
    return CaseBoxes(
        printed, tuple(units.select_related("implant").order_by("code")), needs, opened
    )


def case_asks(case: Case, read: BoxRead) -> CaseAsks:
    """Everything that a box's label is held against.  Nine queries, however many boxes."""
    boxes = case_boxes(case)
    alike = list(alike_boxes(read, case.site)) if read.item is not None else []
    states = box_states([*boxes.units, *alike])
    ours = {unit.pk: _as_ours(states[unit.pk], unit) for unit in boxes.units}
    end, is_over = case.site.local(case.end), case.status not in OPEN_STATUSES
    return CaseAsks(
        asked=Asked(
            code=boxes.printed.pick_list.code if boxes.printed else "",
            number=1,
            newest=1,
            lines=tuple(
                AskedLine(
                    id=unit.pk,
                    case=case.ref,
                    need=boxes.needs.get(unit.pk, Need.SPARE),
                    end=end,
                    ticked=unit.pk in boxes.opened or unit.state in USED,
                    is_over=is_over,
                    box=ours[unit.pk],
                )
                for unit in boxes.units
            ),
            boxes=tuple(ours.get(unit.pk, states[unit.pk]) for unit in alike),
        ),
        there=(
            *(_part(ours[unit.pk]) for unit in boxes.units if boxes.is_in(unit)),
            *_outside_parts(case),
        ),
        plan=plan_of(case),
        declared=declared_pairs(case),
    )


def _as_ours(state: BoxState, unit: Unit) -> BoxState:
    """What was used in this very case is not gone: it was scanned before."""
    return replace(state, gone="") if unit.state in USED else state


def _outside_parts(case: Case) -> Iterator[Part]:
    """What was implanted and never received here; what the catalogue does not hold is not known
    to go with anything.  One query."""
    implanted = case.outside_boxes.filter(outcome=Used.IMPLANTED, void=None)
    for box in implanted.select_related("implant"):
        attributes = box.implant.exact_attributes() if box.implant else {}
        yield Part(box.role, f"{box.words}, never received here", attributes)


def _part(state: BoxState) -> Part:
    return Part(
        state.item.role, f"{state.item.in_words()}, box {state.code}", state.item.attributes
    )
