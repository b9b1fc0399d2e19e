"""The log-in form: name and password, so many tries."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils import timezone

from deploy.kit.address import address_of
from deploy.kit.models import Outcome, What
from deploy.kit.security_log import record
from deploy.kit.throttle import LOG_IN, TooManyTries, forget_tries, take_try


class LogInForm(AuthenticationForm):
    """Counts tries by name and address; a refusal never tells whether the name is known.

    `until` is the moment when to try again, where there were too many.
    """

    until: Any = None

    def clean(self) -> dict[str, Any]:
        name, password = self.cleaned_data.get("username"), self.cleaned_data.get("password")
        if name is None or not password:
            return self.cleaned_data
        address = address_of(self.request) if self.request else None
        # A name that is known in any case of letters; others are not written down: people type
        # passwords into this field.
        known = User.objects.filter(username__iexact=name).first()
        subject = (name.casefold(), address or "")
        try:
            take_try(LOG_IN, *subject, now=timezone.now())
        except TooManyTries as refusal:
            self.until = refusal.until
            record(What.LOG_IN, Outcome.THROTTLED, about=known, address=address)
            raise ValidationError("Too many tries.", code=refusal.code) from None
        try:
            cleaned = super().clean()
        except ValidationError:
            record(What.LOG_IN, Outcome.REFUSED, about=known, address=address)
            raise
        forget_tries(LOG_IN, *subject)
        record(What.LOG_IN, who=self.get_user(), address=address)
        return cleaned
