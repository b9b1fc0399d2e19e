"""The second person of an act that takes two: their name and password, on the same page."""

from __future__ import annotations

from django.contrib.auth import authenticate

from deploy.kit.models import Person
from implants.errors import RecallRefused
from scheduling.web.requests import PersonsRequest


def second_person(request: PersonsRequest, permission: str) -> Person:
    """Another person of the site, who signs and may.  RecallRefused: second_unknown."""
    user = authenticate(
        username=request.POST.get("second", ""), password=request.POST.get("second_pin", "")
    )
    if user is None or not user.has_perm(permission):
        raise RecallRefused("second_unknown")
    second = Person.objects.filter(user=user, site=request.person.site).first()
    if second is None:
        raise RecallRefused("second_unknown")
    return second
