"""Begin a transaction again where the database gave up for reasons of its own.

Safe is what the database rolled back as a whole before anybody was answered: a deadlock, a
serialization failure, a lock that did not come in time.  Anything else may have been done, or will
fail again, and is not tried twice.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import TypeVar

from django.db import OperationalError, connection

T = TypeVar("T")

TRIES = 3

SAFE_STATES = frozenset({"40001", "40P01", "55P03"})
"""PostgreSQL, Appendix A: serialization_failure, deadlock_detected, lock_not_available."""


def is_safe_to_repeat(error: OperationalError) -> bool:
    cause = error.__cause__
    if isinstance(cause, sqlite3.OperationalError):
        # The writer's place did not come in time; nothing had begun.
        return cause.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
    return getattr(cause, "sqlstate", None) in SAFE_STATES


def again_if_safe(act: Callable[[], T]) -> T:
    """The answer of `act`, which is one whole transaction, tried three times at most.

    Inside another transaction it is tried once: what was rolled back is then not ours alone.
    """
    if connection.in_atomic_block:
        return act()
    for _ in range(TRIES - 1):
        try:
            return act()
        except OperationalError as error:
            if not is_safe_to_repeat(error):
                raise
    return act()
