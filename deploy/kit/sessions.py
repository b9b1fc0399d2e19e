"""A session's limits: locked after ten idle minutes, over after twelve hours; and what it may do.

A session *acts* (log-in by password, or badge and PIN) or only *looks* (badge alone).  A locked
one does nothing until the same person opens it by PIN or password.  The lengths are settings.
The clock here is the real one, not the site's.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Any

from django.conf import settings
from django.contrib.auth import login
from django.http import HttpRequest
from django.utils import timezone

from deploy.kit.address import address_of
from deploy.kit.models import What
from deploy.kit.security_log import record

BEGAN, SEEN, LOCKED, LOOKING = "began", "seen", "locked", "looking"
"""Keys in the session: seconds since 1970, seconds since 1970, and two flags."""

NOTED_EVERY_SECONDS = 30
"""An activity is noted at most so often, to spare a write a request; the lock can come that
much too early, never too late."""

BACKEND = "deploy.kit.accounts.Accounts"


class State(StrEnum):
    OPEN = "open"
    LOCKED = "locked"
    OVER = "over"


def state_of(session: Any, now: datetime) -> State:
    """What the session is at `now`.  One without its marks is over."""
    began, seen = session.get(BEGAN), session.get(SEEN)
    moment = now.timestamp()
    if began is None or seen is None or moment - began >= settings.MUSTER_LONGEST_SECONDS:
        return State.OVER
    if session.get(LOCKED) or moment - seen >= settings.MUSTER_IDLE_SECONDS:
        return State.LOCKED
    return State.OPEN


def begin(session: Any, now: datetime) -> None:
    """Mark a session that has just been logged into."""
    session[BEGAN] = session[SEEN] = now.timestamp()
    session[LOCKED] = session[LOOKING] = False


def note_activity(session: Any, now: datetime) -> None:
    if now.timestamp() - session[SEEN] >= NOTED_EVERY_SECONDS:
        session[SEEN] = now.timestamp()


def only_looks(request: Any) -> bool:
    return bool(request.session.get(LOOKING))


def lock(request: HttpRequest) -> None:
    """Lock the session; harmless where it is locked already."""
    if not request.session.get(LOCKED):
        request.session[LOCKED] = True
        record(What.LOCK, who=request.user, address=address_of(request))


def unlock(request: HttpRequest) -> None:
    """Open it again, for acting, under a new key.  Its twelve hours run on.

    The form token stays, so that the page that waited behind the lock can still be sent.
    """
    request.session.cycle_key()
    request.session[LOCKED] = request.session[LOOKING] = False
    request.session[SEEN] = timezone.now().timestamp()
    record(What.UNLOCK, who=request.user, address=address_of(request))


def switch_to(request: HttpRequest, user: Any, *, looking: bool) -> None:
    """A new session for another person, or for the same one by badge; nothing is carried over."""
    before = request.user if request.user.is_authenticated else None
    request.session.flush()
    login(request, user, backend=BACKEND)
    request.session[LOOKING] = looking
    record(
        What.SWITCH,
        who=user,
        about=before,
        address=address_of(request),
        detail="badge, to look" if looking else "badge and PIN",
    )


def begin_at_log_in(sender: Any, request: Any, user: Any, **kwargs: Any) -> None:
    """Receiver of `user_logged_in`."""
    begin(request.session, timezone.now())
