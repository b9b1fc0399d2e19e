"""One's own secrets: the first password by one-time code, and the PIN."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from deploy.kit.address import address_of
from deploy.kit.credentials import check_pin, set_pin
from deploy.kit.doors import SIGNED_IN, open_to_all, requires
from deploy.kit.first_run import CodeNotGood, use_code
from deploy.kit.models import Person
from deploy.kit.signature import proves
from deploy.kit.throttle import TooManyTries
from deploy.moments import when


class TwiceForm(forms.Form):
    """A secret typed twice."""

    new = forms.CharField(strip=False, max_length=128)
    again = forms.CharField(strip=False, max_length=128)

    def clean(self) -> dict[str, Any]:
        if self.cleaned_data.get("new") != self.cleaned_data.get("again"):
            raise ValidationError("The two are not the same.")
        return self.cleaned_data


class FirstRunForm(TwiceForm):
    code = forms.CharField(max_length=64)


class PinForm(TwiceForm):
    now = forms.CharField(strip=False, max_length=128)

    def clean_new(self) -> str:
        check_pin(self.cleaned_data["new"])
        return str(self.cleaned_data["new"])


@open_to_all
@never_cache
@sensitive_post_parameters("code", "new", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """The administrator chooses a password, with the code that `make_administrator` printed."""
    form = FirstRunForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        code, password = form.cleaned_data["code"], form.cleaned_data["new"]
        try:
            use_code(code=code, password=password, address=address_of(request), now=timezone.now())
        except CodeNotGood:
            form.add_error("code", "This code is not good: unknown, used, or older than a day.")
        except TooManyTries as refusal:
            form.add_error(None, f"Too many tries. Try again at {when(refusal.until)}.")
        except ValidationError as fault:
            form.add_error("new", fault)
        else:
            messages.success(request, "The password is set. Log in with it.")
            return redirect("login")
    return render(request, "first_run.html", {"form": form})


@requires(*SIGNED_IN)
@never_cache
@sensitive_post_parameters("now", "new", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def your_pin(request: Any) -> HttpResponse:
    """One's own PIN: a new one, with the old one or the password."""
    person: Person = request.person
    form = PinForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        address = address_of(request)
        try:
            if proves(request.user, form.cleaned_data["now"], address=address):
                set_pin(
                    person=person, pin=form.cleaned_data["new"], by=request.user, address=address
                )
                messages.success(request, "Your new PIN is set.")
                return redirect("home")
            form.add_error("now", "That is not your PIN or password.")
        except TooManyTries as refusal:
            form.add_error(None, f"Too many tries. Try again at {when(refusal.until)}.")
    return render(request, "your_pin.html", {"form": form})
