"""Give a person a private calendar address, and find whose an address is."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from scheduling.models import CalendarFeed

TOKEN_BYTES = 32


@transaction.atomic
def renew_calendar(*, by: Person, now: datetime) -> str:
    """A new token for the person's own address; the one before it opens nothing from now.

    Shown once: only its hash is kept.
    """
    token = secrets.token_urlsafe(TOKEN_BYTES)
    CalendarFeed.objects.update_or_create(
        user=by.user, defaults={"token_sha256": hashed(token), "made_at": now}
    )
    return token


@transaction.atomic
def end_calendar(*, by: Person) -> None:
    """The person's address opens nothing from now."""
    CalendarFeed.objects.filter(user=by.user).delete()


def hashed(token: str) -> str:
    """A token has 256 bits of chance: a plain hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


def person_of_calendar(token: str) -> Person | None:
    """None for an address that was never given, was renewed, or whose account is closed.  One
    query."""
    feed = CalendarFeed.objects.filter(token_sha256=hashed(token), user__is_active=True)
    found = feed.select_related("user__person__site").first()
    return found.user.person if found and hasattr(found.user, "person") else None
