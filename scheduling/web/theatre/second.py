"""The second person of an act that takes two: signs by name and password, at the same screen."""

from __future__ import annotations

from django.contrib.auth import authenticate

from deploy.kit.models import Person
from scheduling.errors import Refused
from scheduling.web.requests import PersonsRequest

MAY_SIGN = ("scheduling.record_use", "scheduling.write_own_plan")
"""Theatre, the coordinator, or a surgeon: any one of these."""


def second_person(request: PersonsRequest) -> Person | None:
    """Who signed as the second; None where nobody was named.

    Refused (second_not_signed): the name and the password do not belong together, or it is
    nobody of this house who may.
    """
    name = request.POST.get("second", "").strip()
    if not name:
        return None
    user = authenticate(request, username=name, password=request.POST.get("second_secret", ""))
    person = Person.objects.select_related("user", "site").filter(user=user).first()
    may = person is not None and any(person.user.has_perm(each) for each in MAY_SIGN)
    if person is None or not may or person.site_id != request.person.site_id:
        raise Refused("second_not_signed")
    return person
