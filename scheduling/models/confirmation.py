from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from scheduling.models.case import Case
from scheduling.models.plan import PlanVersion


class Decision(models.TextChoices):
    CONFIRMED = "confirmed"
    POSTPONED = "postponed"


class CaseDecision(models.Model):
    """What a surgeon decided about a case, and what it rested on.  Added, never edited; the
    newest of a case is in force.

    `rests_on`: plan, hours, verdict and gaps as they were (`scheduling.confirming`).  `accepted`:
    [[gap, reason]] for every gap that stood.
    """

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="decisions")
    plan = models.ForeignKey(
        PlanVersion, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decision = models.CharField(max_length=16, choices=Decision)
    verdict = models.CharField(max_length=32)
    rests_on = models.JSONField()
    accepted = models.JSONField(default=list, blank=True)
    reason = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["case", "id"]
        constraints = [
            models.CheckConstraint(
                name="scheduling_decision_said",
                condition=Q(decision=Decision.CONFIRMED, plan__isnull=False)
                | (Q(decision=Decision.POSTPONED) & ~Q(reason="")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case} {self.decision}"


class Lapse(models.Model):
    """A confirmation that no longer holds: since when it is known, and what has changed."""

    decision = models.OneToOneField(CaseDecision, on_delete=models.PROTECT, related_name="lapse")
    because = models.JSONField(help_text="Sentences.")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.decision}, lapsed"
