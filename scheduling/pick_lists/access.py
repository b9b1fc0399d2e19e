"""The door to pick lists: fetch and authorise in one step."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django.http import Http404

from deploy.kit.models import Person
from scheduling.access import cases_for
from scheduling.models import PickList, PickListVersion


def pick_lists_for(person: Person) -> QuerySet[PickList]:
    """The lists that this person may read: a case's for those who may read the case, a day's for
    those who may read every case."""
    return PickList.objects.filter(_read_by(person))


def _read_by(person: Person, of: str = "") -> Q:
    """`of`: the way to the list, from what is asked for."""
    here = Q(**{f"{of}site": person.site})
    if person.user.has_perm("scheduling.read_cases"):
        return here
    return here & Q(**{f"{of}case__in": cases_for(person).values("pk")})


def pick_list_for(person: Person, code: str) -> PickList:
    """One list by its code; Http404 alike where there is none and where it is not theirs."""
    lists = pick_lists_for(person).select_related("site", "case__site", "case__theatre", "theatre")
    found = lists.filter(code=_typed(code)).first()
    if found is None:
        raise Http404("no such pick list")
    return found


def version_for(person: Person, code: str, number: int, *also: str) -> PickListVersion:
    """One printed version with its list and site, and `also`, named from the version; Http404 as
    for its list.  One query."""
    versions = PickListVersion.objects.select_related("pick_list", *also)
    theirs = _read_by(person, "pick_list__")
    try:
        version = versions.get(theirs, pick_list__code=_typed(code), number=number)
    except PickListVersion.DoesNotExist:
        raise Http404("no such pick list") from None
    version.pick_list.site = person.site  # whose lists alone one may read
    return version


def _typed(code: str) -> str:
    return code.upper().replace("\0", "")
