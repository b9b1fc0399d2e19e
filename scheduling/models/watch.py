from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from scheduling.models.case import Case


class OnIt(models.Model):
    """Somebody has taken on the gaps of a case, until `ended_at`.  Ended ones are kept."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="on_it")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["case", "at"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_on_it_once",
                fields=["case", "by"],
                condition=Q(ended_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.by} on {self.case}"


class LastLook(models.Model):
    """What a person saw of a case when they last opened it (`scheduling.confirming`)."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    saw = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="scheduling_last_look", fields=["case", "by"]),
        ]

    def __str__(self) -> str:
        return f"{self.by} at {self.case}"


class Notice(models.Model):
    """Something that a person is told, once; theirs alone to take off their list.

    `about_cover`: it says that cover was lost, and nothing else, which an alert may say too.
    """

    to = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="+")
    text = models.TextField()
    about_cover = models.BooleanField(default=False)
    at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(name="scheduling_notice_open", fields=["to", "seen_at"])]

    def __str__(self) -> str:
        return self.text


class CalendarFeed(models.Model):
    """A person's private calendar address.  Only what the token hashes to is kept: a lost address
    is renewed, never shown again."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"calendar of {self.user}"
