"""The first administrator: made on the machine itself, with a one-time code for the password.

There is no account by default.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.db import transaction

from deploy.kit.keyed_hash import keyed_hash
from deploy.kit.models import OneTimeCode, Outcome, Person, Site, What
from deploy.kit.role_change import give_roles, roles_of
from deploy.kit.security_log import record
from deploy.kit.throttle import FIRST_RUN, TooManyTries, forget_tries, take_try

ADMINISTRATOR = "administrator"
GOOD_FOR = timedelta(hours=24)

ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""32 signs, without the four that are read wrongly; 20 of them are 100 bits."""


class NotAnAdministrator(Exception):
    """The name belongs to an account with another role."""


class CodeNotGood(Exception):
    """Unknown, used or older than a day."""


@transaction.atomic
def make_administrator(*, username: str, site: Site | None, now: datetime) -> str:
    """Make the account, or let an administrator choose a new password; the one-time code.

    An earlier code of the account is void.  NotAnAdministrator.
    """
    user, is_new = User.objects.get_or_create(username=username)
    if is_new:
        user.set_unusable_password()
        user.save()
        give_roles(user, [ADMINISTRATOR])
    elif roles_of(user) != [ADMINISTRATOR]:
        raise NotAnAdministrator
    if site is not None:
        Person.objects.get_or_create(user=user, defaults={"site": site})
    code = "-".join("".join(secrets.choice(ALPHABET) for _ in range(5)) for _ in range(4))
    OneTimeCode.objects.update_or_create(
        user=user, defaults={"code_hash": _hash(code), "made_at": now, "used_at": None}
    )
    record(What.FIRST_RUN, about=user, detail="one-time code made on the machine")
    return code


def use_code(*, code: str, password: str, address: str | None, now: datetime) -> User:
    """Set the password of the code's account; the code is used up with it.

    CodeNotGood, TooManyTries (by address), ValidationError for a password that is too weak: then
    the code is still good.
    """
    try:
        take_try(FIRST_RUN, address or "", now=now)
    except TooManyTries:
        record(What.FIRST_RUN, Outcome.THROTTLED, address=address)
        raise
    good = OneTimeCode.objects.filter(
        code_hash=_hash(code), used_at=None, made_at__gt=now - GOOD_FOR
    )
    found = good.select_related("user").first()
    if found is None:
        record(What.FIRST_RUN, Outcome.REFUSED, address=address)
        raise CodeNotGood
    forget_tries(FIRST_RUN, address or "")
    validate_password(password, found.user)
    with transaction.atomic():
        if good.filter(pk=found.pk).update(used_at=now) != 1:
            raise CodeNotGood
        found.user.set_password(password)
        found.user.save(update_fields=["password"])
        record(What.FIRST_RUN, who=found.user, address=address, detail="password chosen")
    return found.user


def _hash(code: str) -> str:
    return keyed_hash("one-time code", "".join(code.upper().split()).replace("-", ""))
