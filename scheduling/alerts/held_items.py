"""The boxes and trays on hold that a case leans on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from django.db.models import QuerySet

from deploy.kit.models import Site
from implants.models import Unit
from implants.states import UnitState
from scheduling.alerts.causes import COORDINATOR, STERILE_SERVICES, HeldItem
from scheduling.models import TrayReservation, UnitReservation
from trays.models import Tray, TrayMovement
from trays.stages import Stage


def held_items(site: Site) -> Iterator[HeldItem]:
    """Recalled boxes and quarantined trays that were promised, picked or issued.  Five queries."""
    boxes = Unit.objects.filter(site=site, state=UnitState.RECALLED)
    promised = _cases(
        UnitReservation.objects.filter(case__site=site, freed_at=None).values_list(
            "unit_id", "case__ref"
        )
    )
    for unit in boxes.order_by("code"):
        if cases := promised[unit.pk] | {unit.case_ref} - {""}:
            yield HeldItem(f"box {unit.code}", unit.hold, tuple(sorted(cases)), (COORDINATOR,))
    trays = Tray.objects.filter(site=site, stage=Stage.QUARANTINE)
    promised = _cases(
        TrayReservation.objects.filter(case__site=site, freed_at=None).values_list(
            "tray_id", "case__ref"
        )
    )
    reasons = _reasons(trays)
    for tray in trays.order_by("code"):
        if cases := promised[tray.pk] | {tray.case_ref} - {""}:
            why = reasons.get(tray.pk) or f"Tray {tray.code} is in quarantine"
            yield HeldItem(f"tray {tray.code}", why, tuple(sorted(cases)), (STERILE_SERVICES,))


def _cases(promises: Iterable[tuple[int, str]]) -> defaultdict[int, set[str]]:
    found: defaultdict[int, set[str]] = defaultdict(set)
    for item, ref in promises:
        found[item].add(ref)
    return found


def _reasons(trays: QuerySet[Tray]) -> dict[int, str]:
    """Tray → the reason given with its last movement."""
    last = TrayMovement.objects.filter(tray__in=trays).order_by("tray_id", "seq")
    return dict(last.values_list("tray_id", "reason"))
