"""What every page's frame shows: where and as whom one works, and whether the clock is real."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from deploy.kit.sessions import only_looks


def place_of_work(request: HttpRequest) -> dict[str, Any]:
    """`person` and `site` (None before log-in), `as_of` (local time), `demo`, `read_only`, and
    what the lock of an idle page needs: `idle_seconds`, `looking`.  No query but that of the
    session."""
    person = getattr(request, "person", None)
    site = person.site if person else None
    return {
        "person": person,
        "site": site,
        "as_of": site.local(site.now()) if site else None,
        "demo": settings.DEMO,
        "read_only": settings.MUSTER_READ_ONLY,
        "idle_seconds": settings.MUSTER_IDLE_SECONDS,
        "looking": only_looks(request) if hasattr(request, "session") else False,
    }
