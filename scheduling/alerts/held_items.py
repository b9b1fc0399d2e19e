"""The recalled boxes and the trays of failed loads that a case leans on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from deploy.kit.models import Site
from implants.models import RecallBox, Unit
from implants.states import UnitState
from scheduling.alerts.causes import COORDINATOR, STERILE_SERVICES, HeldItem
from scheduling.models import TrayReservation, UnitReservation
from trays.models import LoadState, Pack

NO_GOOD = (LoadState.FAILED, LoadState.WITHDRAWN)


def held_items(site: Site) -> Iterator[HeldItem]:
    """Recalled boxes, and packs of loads that failed, which were promised, picked or issued.

    A box that was found, or accounted for, at its recall can be used for nobody by mistake any
    more.  Five queries.
    """
    boxes = Unit.objects.filter(site=site, state=UnitState.RECALLED)
    real = RecallBox.objects.filter(unit__in=boxes, recall__is_drill=False).order_by("recall")
    last_recalled = {box.unit_id: box for box in real}
    promised = _cases(
        UnitReservation.objects.filter(case__site=site, freed_at=None).values_list(
            "unit_id", "case__ref"
        )
    )
    for unit in boxes.order_by("code"):
        named = last_recalled.get(unit.pk)
        if named and named.is_done:
            continue
        if cases := promised[unit.pk] | {unit.case_ref} - {""}:
            yield HeldItem(
                f"box {unit.code}",
                unit.hold,
                tuple(sorted(cases)),
                (COORDINATOR,),
                recall=named.recall_id if named else None,
            )
    promised = _cases(
        TrayReservation.objects.filter(case__site=site, freed_at=None).values_list(
            "tray_id", "case__ref"
        )
    )
    packs = Pack.objects.filter(tray__site=site, last_seq=None, load__state__in=NO_GOOD)
    for pack in packs.select_related("tray", "load__machine").order_by("tray__code"):
        if cases := promised[pack.tray_id] | {pack.tray.case_ref} - {""}:
            yield HeldItem(
                f"tray {pack.tray.code}",
                f"Load {pack.load} {pack.load.state}",  # type: ignore[union-attr]
                tuple(sorted(cases)),
                (STERILE_SERVICES,),
                load=pack.load_id,
            )


def _cases(promises: Iterable[tuple[int, str]]) -> defaultdict[int, set[str]]:
    found: defaultdict[int, set[str]] = defaultdict(set)
    for item, ref in promises:
        found[item].add(ref)
    return found
