from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Proposal(models.Model):
    """An act that takes two people: proposed by one, done when a second one confirms it.

    Open until `closed_at`; then confirmed by `confirmed_by`, or withdrawn where that is None.
    """

    act = models.CharField(max_length=64)
    values = models.JSONField()
    said = models.CharField(max_length=300, help_text="What will be done, in words.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    expires_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        permissions = [("change_roles", "Propose and confirm changes of roles")]
        constraints = [
            models.CheckConstraint(
                name="kit_proposal_two_people",
                condition=Q(confirmed_by__isnull=True) | ~Q(confirmed_by=F("by")),
            ),
            models.CheckConstraint(
                name="kit_proposal_confirmed_is_closed",
                condition=Q(confirmed_by__isnull=True) | Q(closed_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.said

    def state(self, now: datetime) -> str:
        """`open`, `confirmed`, `withdrawn` or `expired`."""
        if self.closed_at is not None:
            return "confirmed" if self.confirmed_by_id else "withdrawn"
        return "open" if now < self.expires_at else "expired"
