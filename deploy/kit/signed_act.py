"""What an act that matters asks of the person who acts, and of a second one beside them.

The page shows `components/_signature.html` or `components/_second_person.html` in its form.
`TakeSignatures` tries what was typed there before the view runs and before any transaction, for
the count of wrong tries must outlive an act that is undone.  The view asks for the outcome, with
`sign` or `second_person`; both refuse with NotSigned, worded as every other refusal is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from deploy.kit.address import address_of
from deploy.kit.credentials import person_of_badge
from deploy.kit.doors import may_enter, person_of
from deploy.kit.errors import Refused
from deploy.kit.models import Outcome, Person, What
from deploy.kit.security_log import record
from deploy.kit.signature import proves
from deploy.kit.throttle import BADGE, TooManyTries, take_try

OWN = "signed_with"
SECOND, SECOND_PIN = "second", "second_pin"
"""The fields of the two components."""


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


def sign(request: HttpRequest, *, act: str) -> None:
    """The person who acts has signed by PIN or password; `act` says in the security log what."""
    _outcome(request, OWN, NotSigned("signature_wrong"))
    record(What.SIGN, who=request.user, address=address_of(request), detail=act)


def second_person(request: HttpRequest, *door: str, act: str) -> Person:
    """Who signed beside the person who acts: another of the same site, who holds any one of the
    permissions.  By badge or user name, and PIN or password.
    """
    second = _outcome(request, SECOND, NotSigned("second_missing"))
    if not may_enter(second.user, door):
        raise NotSigned("second_may_not", person=str(second))
    detail = f"{act}, beside {request.user.get_username()}"
    record(What.SIGN, who=second.user, address=address_of(request), detail=detail)
    return second


def _outcome(request: HttpRequest, field: str, otherwise: NotSigned) -> Person:
    signed: Person | NotSigned = getattr(request, "signatures", {}).get(field, otherwise)
    if isinstance(signed, NotSigned):
        raise signed
    return signed


class TakeSignatures:
    """Middleware, before the one that begins a transaction for a form."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        if request.method != "POST" or not request.user.is_authenticated:
            return
        tried = {OWN: _own, SECOND: _second}
        signatures = {
            field: taken(request, tries)
            for field, tries in tried.items()
            if request.POST.get(field, "").strip()
        }
        request.signatures = signatures  # type: ignore[attr-defined]


def taken(request: HttpRequest, tries: Callable[[HttpRequest], Person]) -> Person | NotSigned:
    try:
        return tries(request)
    except NotSigned as refusal:
        return refusal


def _own(request: HttpRequest) -> Person:
    acting = person_of(request)
    if not _proves(acting, request.POST[OWN], request):
        raise NotSigned("signature_wrong")
    return acting


def _second(request: HttpRequest) -> Person:
    acting = person_of(request)
    second = _known(request.POST[SECOND].strip(), acting, request)
    if second == acting:
        raise NotSigned("second_same")
    if not _proves(second, request.POST.get(SECOND_PIN, ""), request):
        raise NotSigned("second_wrong", person=str(second))
    return second


def _known(typed: str, acting: Person, request: HttpRequest) -> Person:
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
    record(
        What.SIGN, Outcome.REFUSED, who=acting.user, address=address, detail="unknown second person"
    )
    raise NotSigned("second_unknown", typed=typed[:40])


def _proves(person: Person, secret: str, request: HttpRequest) -> bool:
    at = f"{request.path}, as {request.user.get_username()}"
    try:
        return proves(person.user, secret, what=What.SIGN, act=at, address=address_of(request))
    except TooManyTries as refusal:
        raise _until(refusal, person) from None


def _until(refusal: TooManyTries, person: Person) -> NotSigned:
    return NotSigned("too_many_tries", until=f"{person.site.local(refusal.until):%H:%M}")
