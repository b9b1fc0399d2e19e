"""The uses of a span of days, from the ledger and from what was never received."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta

from django.db.models import F

from deploy.kit.models import Site
from implants.models import OnUse, Unit, UnitMovement
from implants.states import UnitState
from implants.uses import USED, rules_of
from scheduling.models import Case, OutsideBox, Used
from scheduling.theatre.waste import WasteReason
from scheduling.used.tally import Use
from scheduling.words import line_in_words


def uses_between(site: Site, first: date, last: date) -> list[Use]:
    """Both days included, in time order.  What was corrected since does not count.  4 queries."""
    span = (
        datetime.combine(first, time(), site.zone),
        datetime.combine(last + timedelta(days=1), time(), site.zone) - timedelta(microseconds=1),
    )
    ends = (
        UnitMovement.objects.filter(
            unit__site=site, at__range=span, seq=F("unit__seq"), unit__state__in=USED
        )
        .select_related("unit__implant", "unit__replacement__line__order")
        .order_by("at", "id")
    )
    outside = (
        OutsideBox.objects.filter(case__site=site, at__range=span, void=None)
        .select_related("case")
        .order_by("at", "id")
    )
    movements, boxes = list(ends), list(outside)
    refs = {one.case_ref for one in movements} | {box.case.ref for box in boxes}
    cases = Case.objects.filter(site=site, ref__in=refs).values_list("ref", "surgeon__name")
    surgeons = {ref: name or "" for ref, name in cases}
    follows = rules_of(site)
    found = [
        *(_of_ledger(one, site, surgeons, follows) for one in movements),
        *(_outside(box, site, surgeons) for box in boxes),
    ]
    return sorted(found, key=lambda use: use.day)


def _of_ledger(
    end: UnitMovement, site: Site, surgeons: dict[str, str], follows: Callable[[Unit], OnUse]
) -> Use:
    unit, implant = end.unit, end.unit.implant
    wasted = unit.state == UnitState.WASTED
    why, note = _why(end.reason) if wasted else ("", end.reason)
    return Use(
        day=site.local(end.at).date(),
        case=end.case_ref,
        surgeon=surgeons.get(end.case_ref, ""),
        wasted=wasted,
        why=why,
        note=note,
        line=line_in_words(implant.role, implant.exact_attributes()),
        words=implant.in_words(),
        ref=implant.ref,
        lot=unit.lot,
        serial=unit.serial,
        owner=unit.owner,
        code=unit.code,
        settled=_settled(unit, follows),
        price=implant.price,
    )


def _outside(box: OutsideBox, site: Site, surgeons: dict[str, str]) -> Use:
    wasted = box.outcome == Used.WASTED
    return Use(
        day=site.local(box.at).date(),
        case=box.case.ref,
        surgeon=surgeons.get(box.case.ref, ""),
        wasted=wasted,
        why=WasteReason.OTHER.value if wasted else "",
        note=box.reason,
        line=box.role,
        words=box.words,
        ref=box.ref,
        lot=box.lot,
        serial=box.serial,
        owner="",
        code=box.key,
        settled="",
        received=False,
    )


def _why(reason: str) -> tuple[str, str]:
    """Theatre writes `dropped: onto the floor`; what says otherwise is another reason."""
    why, _, note = reason.partition(": ")
    return (why, note) if why in WasteReason.values else (WasteReason.OTHER.value, reason)


def _settled(unit: Unit, follows: Callable[[Unit], OnUse]) -> str:
    replacement = getattr(unit, "replacement", None)
    if replacement is None:
        return "the supplier sends another" if follows(unit) is OnUse.BY_ITSELF else ""
    return f"order {replacement.line.order.code}" if replacement.line else str(replacement.note)
