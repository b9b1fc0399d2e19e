"""Set how many boxes of an item the house means to have."""

from __future__ import annotations

from datetime import datetime

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Implant, ParLevel

MOST = 999


def accept_par(
    *, implant: Implant, level: int, by: Person, now: datetime, basis: str = ""
) -> ParLevel:
    """The level is in force from now on; earlier ones stay on record.

    OrderRefused: implant_elsewhere, level_wrong.
    """
    if implant.site_id != by.site_id:
        raise OrderRefused("implant_elsewhere", item=implant.ref)
    if not 0 <= level <= MOST:
        raise OrderRefused("level_wrong", item=implant.ref, most=MOST)
    return ParLevel.objects.create(implant=implant, level=level, basis=basis, by=by.user, at=now)
