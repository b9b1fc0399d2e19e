from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from deploy.kit.models.append_only import AppendOnly


class What(models.TextChoices):
    LOG_IN = "log-in"
    LOG_OUT = "log-out"
    LOCK = "lock"
    UNLOCK = "unlock"
    SWITCH = "switch"
    SIGN = "sign"
    ENTER = "enter"
    PASSWORD = "password"
    PIN = "PIN"
    BADGE = "badge"
    ACCOUNT = "account"
    FIRST_RUN = "first run"
    TWO_PEOPLE = "two people"
    ROLE = "role"


class Outcome(models.TextChoices):
    DONE = "done"
    REFUSED = "refused"
    THROTTLED = "throttled"


class SecurityEvent(AppendOnly):
    """One line of the security log.  `who` acted (None: nobody known); `about` whom, where it
    is somebody else.  Holds no typed secret, no unknown name and nothing of a patient."""

    at = models.DateTimeField(db_default=Now())
    what = models.CharField(max_length=16, choices=What)
    outcome = models.CharField(max_length=16, choices=Outcome)
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    about = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    address = models.GenericIPAddressField(null=True)
    detail = models.CharField(max_length=200, blank=True)

    class Meta(AppendOnly.Meta):
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.what}: {self.outcome}"
