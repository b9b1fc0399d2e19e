"""What every ledger's tables share; `deploy.kit.ledger` has the rules."""

from __future__ import annotations

from dataclasses import astuple, fields
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from deploy.kit.ledger import Move


class AllowedMove(models.Model):
    """An allowed move: filled from the app's table in code, referred to by movements."""

    from_state = models.CharField(max_length=32, blank=True)
    to_state = models.CharField(max_length=32)
    kind = models.CharField(max_length=32)
    two_people = models.BooleanField(default=False)
    reasoned = models.BooleanField(default=False)
    unsigned = models.BooleanField(default=False)

    class Meta:
        abstract = True
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="%(app_label)s_%(class)s_once", fields=["from_state", "to_state", "kind"]
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.from_state or 'new'} → {self.to_state}"

    @classmethod
    def of(cls, move: Move) -> Self:
        return cls(**dict(zip((field.name for field in fields(Move)), astuple(move), strict=True)))

    def value(self) -> Move:
        return Move(*(getattr(self, field.name) for field in fields(Move)))


class Movement(models.Model):
    """One entry of a ledger: added, never edited; corrections are entries too.

    `at` and `day`: the site's moment and local date (a demonstration lives at another moment);
    `recorded_at`: when the database took it down.  `case_ref`: the case by its reference.
    """

    seq = models.PositiveIntegerField()
    move: models.ForeignKey[Any, Any]
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    second = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="The second person, where the act takes two.",
    )
    at = models.DateTimeField()
    day = models.DateField()
    recorded_at = models.DateTimeField(db_default=Now(), editable=False)
    reason = models.CharField(max_length=120, blank=True)
    case_ref = models.CharField(max_length=64, blank=True)
    station = models.CharField(max_length=64, blank=True, help_text="Where it was recorded.")
    request_key = models.CharField(max_length=64, blank=True)

    class Meta:
        abstract = True
        default_permissions = ("view",)
        constraints = [
            models.CheckConstraint(
                name="%(app_label)s_%(class)s_two_differ",
                condition=Q(second__isnull=True) | ~Q(second=F("by")),
            ),
        ]
