"""The door to cases: fetch and authorise in one step."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import Http404

from deploy.kit.models import Person
from scheduling.models import Case


def cases_for(person: Person) -> QuerySet[Case]:
    """The cases that this person may read: the site's, or only their own for a surgeon."""
    cases = Case.objects.filter(site=person.site).select_related("theatre", "surgeon", "site")
    if person.user.has_perm("scheduling.read_cases"):
        return cases
    if person.user.has_perm("scheduling.read_own_cases"):
        return cases.filter(surgeon__user=person.user)
    return cases.none()


def case_for(person: Person, pk: int) -> Case:
    """One case; Http404 alike where there is none and where it is not theirs."""
    case = cases_for(person).filter(pk=pk).first()
    if case is None:
        raise Http404("no such case")
    return case
