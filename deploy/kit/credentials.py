"""Badges and PINs.  A badge identifies, it does not authorise: with the PIN it does."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from django.contrib.auth.hashers import check_password, make_password
from django.core.exceptions import ValidationError
from django.db import transaction

from deploy.kit.keyed_hash import keyed_hash
from deploy.kit.models import Credential, Person, What
from deploy.kit.security_log import record

LEAST_DIGITS = 4
MOST_DIGITS = 12


def check_pin(pin: str) -> None:
    """ValidationError with every fault of a PIN that somebody wants to have."""
    faults = []
    if not (pin.isascii() and pin.isdecimal() and LEAST_DIGITS <= len(pin) <= MOST_DIGITS):
        faults.append(f"A PIN has {LEAST_DIGITS} to {MOST_DIGITS} digits and nothing else.")
    elif len({(int(after) - int(before)) % 10 for before, after in pairwise(pin)}) == 1:
        faults.append("One digit repeated, or a straight run, is the first that others try.")
    if faults:
        raise ValidationError(faults, code="pin")


@transaction.atomic
def set_pin(*, person: Person, pin: str, by: Any, address: str | None = None) -> None:
    """Give the person a new PIN.  `by` is the acting account.  ValidationError."""
    check_pin(pin)
    Credential.objects.update_or_create(person=person, defaults={"pin_hash": make_password(pin)})
    record(What.PIN, who=by, about=person.user, address=address)


@transaction.atomic
def set_badge(*, person: Person, badge: str, by: Any, address: str | None = None) -> None:
    """Register the person's badge; an empty one takes the old one away.

    ValidationError where it is somebody else's.
    """
    badge_hash = _badge_hash(badge) if badge.strip() else None
    if badge_hash and not is_free(badge, person):
        raise ValidationError("This badge is somebody else's.", code="badge")
    Credential.objects.update_or_create(person=person, defaults={"badge_hash": badge_hash})
    record(What.BADGE, who=by, about=person.user, address=address)


def is_free(badge: str, person: Person) -> bool:
    """Whether the badge is nobody's but, perhaps, this person's.  One query."""
    others = Credential.objects.exclude(person=person)
    return not others.filter(badge_hash=_badge_hash(badge)).exists()


def person_of_badge(badge: str) -> Person | None:
    """Whose badge it is; None for an unknown one, and for an account that is closed.  One query."""
    return (
        Person.objects.filter(credential__badge_hash=_badge_hash(badge), user__is_active=True)
        .select_related("user", "site")
        .first()
    )


def pin_fits(user: Any, pin: str) -> bool:
    """Whether it is the account's PIN.  Counts no try: see `deploy.kit.signature`.  One query."""
    kept = Credential.objects.filter(person__user=user).values_list("pin_hash", flat=True).first()
    return check_password(pin, kept) if kept else False


def _badge_hash(badge: str) -> str:
    return keyed_hash("badge", badge.strip())
