"""The door to pick lists: fetch and authorise in one step."""

from __future__ import annotations

from django.http import Http404

from deploy.kit.models import Person
from scheduling.access import cases_for
from scheduling.models import PickList, PickListVersion


def pick_list_for(person: Person, code: str) -> PickList:
    """One list by its code; Http404 alike where there is none and where it is not theirs.

    A case's list is for those who may read the case, a day's for those who may read every case.
    """
    found = (
        PickList.objects.filter(site=person.site, code=code.upper().replace("\0", ""))
        .select_related("site", "case__site", "case__theatre", "theatre")
        .first()
    )
    if found is None:
        raise Http404("no such pick list")
    if found.case_id is not None:
        allowed = cases_for(person).filter(pk=found.case_id).exists()
    else:
        allowed = person.user.has_perm("scheduling.read_cases")
    if not allowed:
        raise Http404("no such pick list")
    return found


def version_for(person: Person, code: str, number: int) -> PickListVersion:
    """One printed version; Http404 as for its list."""
    version = (
        pick_list_for(person, code)
        .versions.filter(number=number)
        .select_related("pick_list__site", "pick_list__case", "pick_list__theatre")
        .first()
    )
    if version is None:
        raise Http404("no such pick list")
    return version
