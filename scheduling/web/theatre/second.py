"""The second person of an act that takes two, where the form names one."""

from __future__ import annotations

from deploy.kit.models import Person
from deploy.kit.signed_act import SECOND, second_person
from scheduling.web.requests import PersonsRequest

SAID = "theatre_said"
"""In the session: what a reason was given for last, and the reason."""
SECOND_SIGNER = "scheduling.sign_in_theatre"


def second_signed(request: PersonsRequest, act: str) -> Person | None:
    """Who signed beside the person who acts; None where nobody was named.  NotSigned."""
    if not request.POST.get(SECOND, "").strip():
        return None
    return second_person(request, SECOND_SIGNER, act=act)
