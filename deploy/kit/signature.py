"""Whether a secret is a person's own: the PIN beside a badge, PIN or password at a lock or an act.

Call these before the act's transaction begins: a try must stay counted when the act is undone.
A view asks for a signature through `deploy.kit.signed_act`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.utils import timezone

from deploy.kit.credentials import pin_fits
from deploy.kit.models import Outcome, Person, What
from deploy.kit.security_log import record
from deploy.kit.throttle import PIN, TooManyTries, forget_tries, take_try


def signs(
    person: Person,
    pin: str,
    *,
    act: str = "",
    address: str | None = None,
    now: datetime | None = None,
) -> bool:
    """Whether the PIN is the person's; `act` says in the log what was signed.

    TooManyTries after five wrong ones in a row, for 15 minutes.  `now`: the real clock's.
    """
    fits = _tried(person.user, lambda: pin_fits(person.user, pin), What.SIGN, act, address, now)
    if fits:
        record(What.SIGN, who=person.user, address=address, detail=act)
    return fits


def proves(
    user: Any,
    secret: str,
    *,
    what: What = What.UNLOCK,
    act: str = "",
    address: str | None,
    now: datetime | None = None,
) -> bool:
    """Whether the secret is the account's PIN or password; a success is for the caller to log."""

    def fits() -> bool:
        return pin_fits(user, secret) or user.check_password(secret)

    return _tried(user, fits, what, act, address, now)


def _tried(
    user: Any,
    fits: Callable[[], bool],
    what: What,
    detail: str,
    address: str | None,
    now: datetime | None,
) -> bool:
    """Count the try, then look; both refusals leave a line in the log."""
    try:
        take_try(PIN, str(user.pk), now=now or timezone.now())
    except TooManyTries:
        record(what, Outcome.THROTTLED, who=user, address=address, detail=detail)
        raise
    if not fits():
        record(what, Outcome.REFUSED, who=user, address=address, detail=detail)
        return False
    forget_tries(PIN, str(user.pk))
    return True
