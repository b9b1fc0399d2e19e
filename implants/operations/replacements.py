"""Settle the use of a box without an order."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.models import Person
from implants.errors import OrderRefused
from implants.models import Replacement, Unit
from implants.uses import USED


def settle_without_order(*, unit: Unit, note: str, by: Person, now: datetime) -> Replacement:
    """The used box is not replaced, and `note` says why.

    OrderRefused: box_elsewhere, box_not_used, note_missing, use_settled.
    """
    if unit.site_id != by.site_id:
        raise OrderRefused("box_elsewhere", unit=unit.code)
    if unit.state not in USED:
        raise OrderRefused("box_not_used", unit=unit.code, state=unit.state)
    if not note:
        raise OrderRefused("note_missing", unit=unit.code)
    try:
        with transaction.atomic():
            return Replacement.objects.create(unit=unit, note=note[:120], by=by.user, at=now)
    except IntegrityError:
        raise OrderRefused("use_settled", unit=unit.code) from None
