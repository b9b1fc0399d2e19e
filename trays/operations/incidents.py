"""Packs of a load that is no good, opened before that was known.  Each is one transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.models import Incident, Load, TrayMovement
from trays.stages import Stage


@transaction.atomic
def open_incidents(*, load: Load, now: datetime) -> list[Incident]:
    """One for each pack of the load that was in theatre; those there are stay.

    One query a pack, for the withdrawal of a load is rare and its packs are few.
    """
    made = []
    for pack in load.packs.filter(incident=None):
        movements = TrayMovement.objects.filter(
            tray=pack.tray_id, seq__gte=pack.first_seq, move__to_state=Stage.IN_THEATRE
        )
        if pack.last_seq is not None:
            movements = movements.filter(seq__lt=pack.last_seq)
        opened = movements.order_by("seq").first()
        if opened is not None:
            made.append(
                Incident.objects.create(
                    pack=pack, case_ref=opened.case_ref, opened_at=opened.at, at=now
                )
            )
    return made


@transaction.atomic
def close_incident(*, incident: Incident, outcome: str, by: Person, now: datetime) -> Incident:
    """What was done about it: who was told, what was found.

    TrayRefused: elsewhere, incident_closed, outcome_missing.
    """
    there = (
        Incident.objects.select_for_update(of=("self",))
        .select_related("pack__tray")
        .get(pk=incident.pk)
    )
    if there.pack.tray.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Tray {there.pack.tray.code}")
    if there.closed_at is not None:
        raise TrayRefused("incident_closed", tray=there.pack.tray.code)
    outcome = outcome.strip()[:200]
    if not outcome:
        raise TrayRefused("outcome_missing", tray=there.pack.tray.code)
    there.closed_at, there.closed_by, there.outcome = now, by.user, outcome
    there.save(update_fields=["closed_at", "closed_by", "outcome"])
    return there
