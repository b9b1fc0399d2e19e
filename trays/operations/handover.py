"""Hand the department over to the next shift."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.models import Handover


@transaction.atomic
def hand_over(*, by: Person, now: datetime, note: str = "") -> Handover:
    """From now on "what changed" is counted anew.  `note`: what the next shift has to know."""
    return Handover.objects.create(site=by.site, at=now, by=by.user, note=note.strip()[:2000])
