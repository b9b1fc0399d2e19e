"""Keep what a person saw of a case when they opened it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from scheduling.confirming import Basis
from scheduling.models import Case, LastLook


def keep_look(*, case: Case, saw: Basis, by: Person, now: datetime) -> None:
    """Reading stays reading for who saw the same before: one query, and no write."""
    kept = saw.kept()
    if LastLook.objects.filter(case=case, by=by.user, saw=kept).exists():
        return
    with transaction.atomic():
        LastLook.objects.update_or_create(case=case, by=by.user, defaults={"saw": kept, "at": now})
