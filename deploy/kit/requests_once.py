"""The same request, one effect: for pages, the API and scans alike.

A client gives each request that writes a key of its own.  What was answered is kept under person
and key in the transaction of the effect itself: both are there or neither.  A repeat gets the
first answer again, and changes nothing; the key with another body is refused (422), and so is a
repeat while the first one runs (409), but that a page waits for it.  A refusal changed nothing and
is not kept, so that the request may be sent again.

The movements that the request adds carry its key, and the database refuses a second one of the
same kind, for the same item.  For the API see `api_writes`, for pages `page_writes`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import connection, transaction

from deploy.kit.errors import Refused
from deploy.kit.models import Person, RequestKey
from deploy.kit.retry import again_if_safe

LONGEST = 64

Answer = dict[str, Any]
"""What can be kept as JSON, and what the same answer can be made of again."""


class KeyRefused(Refused):
    """Nothing was done: the key says that this is not a new request, or it is no key."""

    sentences = {
        "key_missing": "The request needs an Idempotency-Key header.",
        "key_invalid": "The Idempotency-Key is 1 to 64 visible characters.",
        "key_reused": "This Idempotency-Key was used before, for another request.",
        "key_running": "The same request is still being done. Ask again for its answer.",
    }
    statuses = {"key_missing": 400, "key_invalid": 400, "key_reused": 422, "key_running": 409}

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.status = self.statuses[code]


@dataclass(frozen=True, slots=True)
class Asked:
    """A request that is to take effect once.  `body`: all that makes it another request."""

    by: Person
    key: str
    body: bytes

    @property
    def hash(self) -> str:
        return hashlib.sha256(self.body).hexdigest()


_CURRENT: ContextVar[str] = ContextVar("request_key", default="")


def current_key() -> str:
    """The key of the request that is being done, or an empty text."""
    return _CURRENT.get()


def take_once(asked: Asked, act: Callable[[], Answer | None], *, wait: bool) -> Answer | None:
    """Do `act` and keep its answer; or, where it was done before, the answer kept then.

    One transaction, which is begun again where that is safe.  None from `act`: nothing was done,
    nothing is kept.  `wait`: for the same request that still runs; else KeyRefused (key_running).
    SQLite has one writer, for which everybody waits.  KeyRefused (key_reused).
    Three queries and those of `act`.
    """
    answer: Answer | None = again_if_safe(lambda: _once(asked, act, wait))
    return answer


@transaction.atomic
def _once(asked: Asked, act: Callable[[], Answer | None], wait: bool) -> Answer | None:
    _claim(asked, wait)
    known = RequestKey.objects.filter(person=asked.by, key=asked.key).first()
    if known is not None:
        if known.body_hash != asked.hash:
            raise KeyRefused("key_reused")
        before: Answer = known.answer
        return before
    with _named(asked.key):
        answer = act()
    if answer is not None:
        RequestKey.objects.create(
            person=asked.by, key=asked.key, body_hash=asked.hash, answer=answer
        )
    return answer


def _claim(asked: Asked, wait: bool) -> None:
    """One of the same requests at a time; the claim ends with the transaction."""
    if connection.vendor != "postgresql":
        return
    verb = "pg_advisory_xact_lock" if wait else "pg_try_advisory_xact_lock"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {verb}(hashtextextended(%s, %s))", [asked.key, asked.by.pk])
        if cursor.fetchone()[0] is False:
            raise KeyRefused("key_running")


@contextmanager
def _named(key: str) -> Iterator[None]:
    token = _CURRENT.set(key)
    try:
        yield
    finally:
        _CURRENT.reset(token)


KEPT = timedelta(days=30)
"""How long a first answer is kept.  No page stays open, and no client tries, for so long; the
movements keep their keys for good, so that even then none is made twice."""


def forget_answers(*, now: datetime) -> int:
    """Let go of the answers that nobody can ask for any more; how many."""
    return RequestKey.objects.filter(at__lt=now - KEPT).delete()[0]
