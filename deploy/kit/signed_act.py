"""What an act that matters asks of the person who acts, and of a second one beside them.

The page shows `components/_signature.html` or `components/_second_person.html` in its form; the
view calls these before the act's transaction begins, since a wrong try must stay counted when the
act is undone.  Both refuse with NotSigned, which a view words as it does every other refusal.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from rest_framework.request import Request

from deploy.kit.address import address_of
from deploy.kit.credentials import person_of_badge
from deploy.kit.doors import may_enter, person_of
from deploy.kit.errors import Refused
from deploy.kit.models import Outcome, Person, What
from deploy.kit.security_log import record
from deploy.kit.signature import proves
from deploy.kit.throttle import BADGE, TooManyTries, take_try

PIN_FIELD = "pin"
SECOND_FIELD, SECOND_PIN_FIELD = "second", "second_pin"


class NotSigned(Refused):
    """The act was not signed, so it was not done."""

    status = 403
    sentences = {
        "signature_wrong": "Not signed: that is not your PIN or password.",
        "second_missing": "This takes a second person: their badge or user name, and their PIN.",
        "second_unknown": "Not signed: no badge and no user name here is “{typed}”.",
        "second_wrong": "Not signed: that is not the PIN or password of {person}.",
        "second_same": "Not signed: this takes two different people.",
        "second_may_not": "Not signed: {person} may not sign this.",
        "too_many_tries": "Not signed: too many tries. Try again at {until}.",
    }


def sign(request: HttpRequest | Request, *, act: str) -> None:
    """The person who acts signs by PIN or password; `act` says in the security log what."""
    if not _signs(person_of(request), _sent(request, PIN_FIELD), request, act):
        raise NotSigned("signature_wrong")


def second_person(request: HttpRequest | Request, *door: str, act: str) -> Person:
    """Who signs beside the person who acts: another of the same site, who holds any one of the
    permissions.  By badge or user name, and PIN or password.
    """
    acting, typed = person_of(request), _sent(request, SECOND_FIELD).strip()
    if not typed:
        raise NotSigned("second_missing")
    second = _known(typed, acting, request, act)
    if second == acting:
        raise NotSigned("second_same")
    beside = f"{act}, beside {acting.user.get_username()}"
    if not _signs(second, _sent(request, SECOND_PIN_FIELD), request, beside):
        raise NotSigned("second_wrong", person=str(second))
    if not may_enter(second.user, door):
        raise NotSigned("second_may_not", person=str(second))
    return second


def _known(typed: str, acting: Person, request: Any, act: str) -> Person:
    """The person of this badge or user name, at the acting person's site."""
    by_name = Person.objects.filter(user__username__iexact=typed, user__is_active=True)
    known = person_of_badge(typed) or by_name.select_related("user", "site").first()
    if known is not None and known.site_id == acting.site_id:
        return known
    address = address_of(request)
    try:
        take_try(BADGE, address or "", now=timezone.now())
    except TooManyTries as refusal:
        raise _until(refusal, acting) from None
    record(What.SIGN, Outcome.REFUSED, who=acting.user, address=address, detail=f"unknown: {act}")
    raise NotSigned("second_unknown", typed=typed[:40])


def _signs(person: Person, secret: str, request: Any, act: str) -> bool:
    address = address_of(request)
    try:
        signed = proves(person.user, secret, address=address, what=What.SIGN, act=act)
    except TooManyTries as refusal:
        raise _until(refusal, person) from None
    if signed:
        record(What.SIGN, who=person.user, address=address, detail=act)
    return signed


def _until(refusal: TooManyTries, person: Person) -> NotSigned:
    return NotSigned("too_many_tries", until=f"{person.site.local(refusal.until):%H:%M}")


def _sent(request: HttpRequest | Request, field: str) -> str:
    sent = request.data if isinstance(request, Request) else request.POST
    return str(sent.get(field, "")) if isinstance(sent, Mapping) else ""
