"""How often a secret may be tried.

A try is counted before the secret is looked at, under a lock: a hundred guesses at once are not
more than the limit.  A success forgets the tries.  Moments are the real clock's, not the site's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from deploy.kit.keyed_hash import keyed_hash
from deploy.kit.models import Tries


@dataclass(frozen=True, slots=True)
class Limit:
    """So many tries; then none until `minutes` after the last one."""

    name: str
    tries: int
    minutes: int

    @property
    def span(self) -> timedelta:
        return timedelta(minutes=self.minutes)


LOG_IN = Limit("log-in", tries=5, minutes=15)
"""By name and address together: others at the same shared PC can still log in, and nobody can
lock a person out of every PC."""

PIN = Limit("pin", tries=5, minutes=15)
"""By person, wherever it is tried: a PIN is short.  The log-in by password stays open."""

BADGE = Limit("badge", tries=60, minutes=15)
"""Unknown badges by address.  Generous, since a misread badge is an everyday thing."""

FIRST_RUN = Limit("first-run", tries=5, minutes=15)
"""One-time codes by address."""


class TooManyTries(Exception):
    """No more tries until `until`."""

    code = "too_many_tries"

    def __init__(self, until: datetime) -> None:
        super().__init__(self.code)
        self.until = until


def counted(limit: Limit, number: int, last_at: datetime, now: datetime) -> int:
    """The number of tries after one more at `now`; TooManyTries where there is none left.

    A refused try does not count: whoever keeps knocking waits no longer.
    """
    before = 0 if now >= last_at + limit.span else number
    if before >= limit.tries:
        raise TooManyTries(last_at + limit.span)
    return before + 1


def take_try(limit: Limit, *subject: str, now: datetime) -> None:
    """Count one try at the subject's secret; TooManyTries where it has none left.

    Refuses to run inside a transaction, with which the count could be rolled back.
    """
    key = keyed_hash(limit.name, *subject)
    with transaction.atomic(durable=True):
        _, is_new = Tries.objects.get_or_create(key=key, defaults={"number": 0, "last_at": now})
        if is_new:
            Tries.objects.filter(last_at__lt=now - timedelta(days=1)).delete()
        tries = Tries.objects.select_for_update().get(key=key)
        tries.number = counted(limit, tries.number, tries.last_at, now)
        tries.last_at = now
        tries.save()


def forget_tries(limit: Limit, *subject: str) -> None:
    """After a success."""
    Tries.objects.filter(key=keyed_hash(limit.name, *subject)).delete()
