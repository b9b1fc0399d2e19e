"""The security log: who did what, when, from where, and how it ended."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse

from deploy.kit.address import address_of
from deploy.kit.models import Outcome, SecurityEvent, What


def record(
    what: What,
    outcome: Outcome = Outcome.DONE,
    *,
    who: Any = None,
    about: Any = None,
    address: str | None = None,
    detail: str = "",
) -> SecurityEvent:
    """Add a line.  One query.  `who` and `about` are accounts."""
    return SecurityEvent.objects.create(
        what=what,
        outcome=outcome,
        who=who,
        about=None if about == who else about,
        address=address,
        detail=detail[:200],
    )


class RecordRefusals:
    """Middleware: whoever is logged in and is refused (403) leaves a line in the log.

    Strangers leave none: they could fill the disk with lines that tell nothing.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 403 and request.user.is_authenticated:
            record(
                What.ENTER,
                Outcome.REFUSED,
                who=request.user,
                address=address_of(request),
                # The address without its query, which may hold what was scanned.
                detail=f"{request.method} {request.path}",
            )
        return response
