"""The pages around a session: lock, unlock, switch person."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.address import address_of
from deploy.kit.credentials import person_of_badge
from deploy.kit.doors import lock_page, open_to_all
from deploy.kit.models import Outcome, What
from deploy.kit.security_log import record
from deploy.kit.session_limits import open_when_locked
from deploy.kit.sessions import LOCKED, lock, only_looks, switch_to, unlock
from deploy.kit.signature import proves, signs
from deploy.kit.throttle import BADGE, TooManyTries, take_try
from deploy.moments import when
from scheduling.demonstration.people import DEMO_PIN, demo_people

WRONG = "That is not your PIN or password."


@open_to_all
@require_POST
def here(request: HttpRequest) -> HttpResponse:
    """Somebody is at work on an open page: noted by the session's limits.  204."""
    return HttpResponse(status=204)


@open_to_all
@open_when_locked
@require_POST
def lock_now(request: HttpRequest) -> HttpResponse:
    """By the button, or by the script of an idle page, which gets a 204."""
    if request.user.is_authenticated:
        lock(request)
    if not request.accepts("text/html"):
        return HttpResponse(status=204)
    return redirect(lock_page(_next(request)))


@open_to_all
@open_when_locked
@never_cache
@sensitive_post_parameters("secret")
@require_http_methods(["GET", "HEAD", "POST"])
def locked(request: HttpRequest) -> HttpResponseBase:
    """GET: asks the same person for PIN or password.  POST: opens the session, and back to `next`.

    A script that asks for JSON gets `{"open": true}`, or why not.
    """
    if not request.user.is_authenticated:
        return redirect("login")
    said = ""
    if request.method == "POST":
        said = _unlock(request)
        if not request.accepts("text/html"):
            return JsonResponse({"open": not said, "say": said})
        if not said:
            return redirect(_next(request))
    elif not request.session.get(LOCKED) and not only_looks(request):
        return redirect(_next(request))
    page = {"said": said, "next": _next(request), "looking": not request.session.get(LOCKED)}
    return render(request, "locked.html", page)


def _unlock(request: HttpRequest) -> str:
    """Why the session stays locked; empty where it is open now."""
    secret = request.POST.get("secret", "")
    if whose := person_of_badge(secret):
        # Scanned where hands at a shared PC expect it: no try of a PIN, and none is counted.
        if whose.user_id == request.user.pk:
            return "That is your badge. Give your PIN or password."
        return f"That is the badge of {whose}. Press “Another person” and scan it there."
    try:
        if not proves(request.user, secret, address=address_of(request)):
            return WRONG
    except TooManyTries as refusal:
        return f"Too many tries. Try again at {when(refusal.until)}, or log in by password."
    unlock(request)
    return ""


class SwitchForm(forms.Form):
    badge = forms.CharField(max_length=200, error_messages={"required": "Scan your badge."})
    pin = forms.CharField(max_length=64, required=False)


@open_to_all
@open_when_locked
@never_cache
@sensitive_post_parameters("badge", "pin")
@require_http_methods(["GET", "HEAD", "POST"])
def switch(request: HttpRequest) -> HttpResponse:
    """Another person at the same PC: by badge to look, by badge and PIN to act."""
    form = SwitchForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        said = _switch(request, **form.cleaned_data)
        if not said:
            return redirect(_next(request))
        form.add_error(None, said)
    page: dict[str, Any] = {"form": form, "next": _next(request)}
    if settings.DEMO:
        page |= {"demo_people": demo_people(), "demo_pin": DEMO_PIN}
    return render(request, "switch.html", page)


def _switch(request: HttpRequest, badge: str, pin: str) -> str:
    """Why nobody else is at work now; empty where somebody is."""
    address = address_of(request)
    person = person_of_badge(badge)
    try:
        if person is None:
            take_try(BADGE, address or "", now=timezone.now())
            record(What.SWITCH, Outcome.REFUSED, address=address, detail="unknown badge")
            return "This badge is not known here."
        if pin and not signs(person, pin, act="switch", address=address):
            return "That is not the PIN of this badge."
    except TooManyTries as refusal:
        return f"Too many tries. Try again at {when(refusal.until)}, or log in by password."
    switch_to(request, person.user, looking=not pin)
    return ""


def _next(request: HttpRequest) -> str:
    """Where to go on: an address of this house, or the first page."""
    asked_for = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        asked_for, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return asked_for if is_ours else resolve_url("home")
