"""Locks, always in one order: case, tray, unit.

PostgreSQL locks the row; SQLite has one writer at a time (IMMEDIATE), so that reading the row
again inside the transaction is enough.
"""

from __future__ import annotations

from implants.models import Unit
from scheduling.errors import Refused
from scheduling.models import Case, CaseStatus
from trays.models import Tray

OPEN_STATUSES = (CaseStatus.BOOKED, CaseStatus.STARTED)


def locked_case(case: Case) -> Case:
    """The case as it stands now, locked until the transaction ends.  One query."""
    return Case.objects.select_for_update(of=("self",)).select_related("site").get(pk=case.pk)


def locked_open_case(case: Case) -> Case:
    """As `locked_case`; Refused (case_is_over) for one that has ended or was cancelled."""
    case = locked_case(case)
    if case.status not in OPEN_STATUSES:
        raise Refused("case_is_over", case=case.ref, status=case.status)
    return case


def locked_tray(tray: Tray) -> Tray:
    return (
        Tray.objects.select_for_update(of=("self",)).select_related("configuration").get(pk=tray.pk)
    )


def locked_unit(unit: Unit) -> Unit:
    return Unit.objects.select_for_update(of=("self",)).select_related("implant").get(pk=unit.pk)
