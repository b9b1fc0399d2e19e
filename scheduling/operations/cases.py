"""Book, move, cancel, start and end a case.  Each is one transaction.

booked → started → ended;  booked → cancelled.  An end and a cancellation free what the case
held.  Who may do it is decided at the door; `by` is kept with what the act writes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from scheduling.coverage.values import Priority
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, CaseStatus, Side, Surgeon, Theatre
from scheduling.operations.locks import locked_case
from scheduling.operations.reservations import Freed, free_all, keep_what_can_be_kept


@transaction.atomic
def book_case(
    *,
    ref: str,
    start: datetime,
    minutes: int,
    side: Side,
    by: Person,
    now: datetime,
    theatre: Theatre | None = None,
    surgeon: Surgeon | None = None,
    priority: Priority = Priority.ELECTIVE,
) -> Case:
    """Book a case at the acting person's site; the plan follows with `write_plan`.

    `start` is an aware moment and may lie in the past (a case of the night, entered late).
    NotUsable with all faults; Refused (case_ref_taken).
    """
    faults = _faults(by, start, minutes, theatre, surgeon)
    if not ref.strip():
        faults.append("ref: a case needs a reference")
    if side not in Side.values:
        faults.append("side: left or right")
    if faults:
        raise NotUsable("case_invalid", faults)
    case, is_new = Case.objects.get_or_create(
        site=by.site,
        ref=ref.strip(),
        defaults={
            "theatre": theatre,
            "surgeon": surgeon,
            "start": start,
            "minutes": minutes,
            "side": side,
            "priority": priority.value,
        },
    )
    if not is_new:
        raise Refused("case_ref_taken", case=case.ref)
    return case


def _faults(
    by: Person,
    start: datetime,
    minutes: int,
    theatre: Theatre | None,
    surgeon: Surgeon | None,
) -> list[str]:
    faults = []
    if start.tzinfo is None:
        faults.append("start: says no time zone")
    if minutes < 1:
        faults.append("minutes: 1 or more")
    if theatre is not None and theatre.site_id != by.site_id:
        faults.append("theatre: of another site")
    if surgeon is not None and surgeon.site_id != by.site_id:
        faults.append("surgeon: of another site")
    return faults


def _booked(case: Case, verb: str) -> Case:
    case = locked_case(case)
    if case.status != CaseStatus.BOOKED:
        raise Refused("case_not_booked", case=case.ref, status=case.status, verb=verb)
    return case


@dataclass(frozen=True, slots=True)
class Move:
    """What a case changes to; None stays.  `was`: the start that the person had before them."""

    case: Case
    start: datetime | None = None
    minutes: int | None = None
    theatre: Theatre | None = None
    was: datetime | None = None


@transaction.atomic
def move_case(
    *,
    case: Case,
    by: Person,
    now: datetime,
    start: datetime | None = None,
    minutes: int | None = None,
    theatre: Theatre | None = None,
    was: datetime | None = None,
) -> Case:
    """Give a booked case another start, length or theatre; what is None stays.  As `move_cases`."""
    move_cases(moves=[Move(case, start, minutes, theatre, was)], by=by, now=now)
    return locked_case(case)


@transaction.atomic
def move_cases(*, moves: Sequence[Move], by: Person, now: datetime) -> Freed:
    """Several cases moved as one change: all of them, or none.  What they had to let go.

    The cases keep their reservations, except what they cannot use then: boxes whose use-by date
    lies before the new end, and trays that another case has then or that could not be ready
    again for it.  Those are freed; of two moved cases the earlier one keeps a tray.

    NotUsable (case_invalid) with all faults; Refused (case_not_booked, case_moved_meanwhile).
    """
    cases = [
        moved_to(_booked(move.case, "moved"), move)
        for move in sorted(moves, key=lambda move: move.case.pk)
    ]
    faults = [
        f"{case.ref}: {fault}" if len(cases) > 1 else fault
        for case in cases
        for fault in _faults(by, case.start, case.minutes, case.theatre, None)
    ]
    if faults:
        raise NotUsable("case_invalid", faults)
    for case in cases:
        case.save(update_fields=["start", "minutes", "theatre"])
    return keep_what_can_be_kept(cases=cases, by=by, now=now)


def moved_to(case: Case, move: Move) -> Case:
    """The case with its new hours and theatre, not saved.  Refused (case_moved_meanwhile)."""
    if move.was is not None and move.was != case.start:
        raise Refused("case_moved_meanwhile", case=case.ref, start=case.site.local(case.start))
    case.start = move.start or case.start
    case.minutes = case.minutes if move.minutes is None else move.minutes
    case.theatre = move.theatre or case.theatre
    return case


@transaction.atomic
def cancel_case(*, case: Case, by: Person, now: datetime) -> Case:
    """Cancel a booked case and free what it held.  Refused (case_not_booked)."""
    return _leave(_booked(case, "cancelled"), CaseStatus.CANCELLED, now)


@transaction.atomic
def start_case(*, case: Case, by: Person, now: datetime) -> Case:
    """The operation has begun; it keeps what it holds.  Refused (case_not_booked)."""
    case = _booked(case, "started")
    case.status = CaseStatus.STARTED
    case.save(update_fields=["status"])
    return case


@transaction.atomic
def end_case(*, case: Case, by: Person, now: datetime) -> Case:
    """The operation is over; what it held is free.  Refused (case_not_started)."""
    case = locked_case(case)
    if case.status != CaseStatus.STARTED:
        raise Refused("case_not_started", case=case.ref, status=case.status)
    return _leave(case, CaseStatus.ENDED, now)


def _leave(case: Case, status: CaseStatus, now: datetime) -> Case:
    free_all(case=case, now=now)
    case.status = status
    case.save(update_fields=["status"])
    return case
