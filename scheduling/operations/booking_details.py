"""Change who operates in a booked case, and how urgent it is."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from scheduling.coverage.values import Priority
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, CaseStatus, Surgeon
from scheduling.operations.locks import locked_case


@transaction.atomic
def change_booking(
    *, case: Case, surgeon: Surgeon | None, priority: Priority, by: Person, now: datetime
) -> Case:
    """The case has this surgeon, or none yet, and this priority.

    NotUsable (case_invalid); Refused (case_not_booked).
    """
    case = locked_case(case)
    if case.status != CaseStatus.BOOKED:
        raise Refused("case_not_booked", case=case.ref, status=case.status, verb="changed")
    if surgeon is not None and surgeon.site_id != by.site_id:
        raise NotUsable("case_invalid", ["surgeon: of another site"])
    case.surgeon, case.priority = surgeon, priority.value
    case.save(update_fields=["surgeon", "priority"])
    return case
