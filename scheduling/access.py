"""The door to cases: fetch and authorise in one step."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from deploy.kit.models import Person
from scheduling.models import Case, Surgeon


def cases_for(person: Person) -> QuerySet[Case]:
    """The cases that this person may read: the site's; for a surgeon only their own and those of
    the surgeons for whom they plan."""
    cases = Case.objects.filter(site=person.site).select_related("theatre", "surgeon", "site")
    if person.user.has_perm("scheduling.read_cases"):
        return cases
    if person.user.has_perm("scheduling.read_own_cases"):
        # Not by a join: a case would come once for every colleague.
        whose = Surgeon.objects.filter(Q(user=person.user) | Q(colleagues=person.user))
        return cases.filter(surgeon__in=whose.values("pk"))
    return cases.none()


def case_for(person: Person, pk: int) -> Case:
    """One case; Http404 alike where there is none and where it is not theirs."""
    return get_object_or_404(cases_for(person), pk=pk)


def is_theirs(person: Person, case: Case) -> bool:
    """Whether the person is the case's surgeon."""
    return case.surgeon is not None and case.surgeon.user_id == person.user.pk


def may_plan(person: Person, case: Case) -> bool:
    """The case's surgeon, or a colleague who plans for them; of a case that they may read."""
    if not person.user.has_perm("scheduling.write_own_plan") or case.surgeon is None:
        return False
    return is_theirs(person, case) or case.surgeon.colleagues.filter(pk=person.user.pk).exists()


def case_to_plan(person: Person, pk: int) -> Case:
    """As `case_for`; PermissionDenied where they may read the case and not plan it."""
    case = case_for(person, pk)
    if not may_plan(person, case):
        raise PermissionDenied
    return case


def may_book(person: Person, case: Case) -> bool:
    """Whoever books every case; the surgeon their own."""
    if person.user.has_perm("scheduling.book_case"):
        return True
    return person.user.has_perm("scheduling.book_own_case") and is_theirs(person, case)


def case_to_book(person: Person, pk: int) -> Case:
    """As `case_for`; PermissionDenied where they may read the case and not move it."""
    case = case_for(person, pk)
    if not may_book(person, case):
        raise PermissionDenied
    return case
