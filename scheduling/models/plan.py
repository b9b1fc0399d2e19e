from __future__ import annotations

from django.conf import settings
from django.db import models

from scheduling.models.case import Case
from scheduling.models.technique import Technique
from scheduling.models.window import Window


class PlanVersion(models.Model):
    """What the surgeon planned: components by their attributes, and facts.  Added, never edited;
    the highest number is in force.

    `components` and `facts` are in the scenario format: {role: {attributes, quantity?}} and
    {name: value}.  A fact that is not known is left out.  `windows`: {ladder: [below, above]}, the
    figures that stand in place of the technique's own.  `window`: the one it began with.
    """

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="plans")
    number = models.PositiveIntegerField()
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="+")
    components = models.JSONField(default=dict, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    windows = models.JSONField(default=dict, blank=True)
    window = models.ForeignKey(
        Window, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.TextField(blank=True, help_text="Free text. No patient data.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["case", "number"]
        constraints = [
            models.UniqueConstraint(name="scheduling_plan_number", fields=["case", "number"]),
        ]
        permissions = [
            ("write_own_plan", "May plan and confirm the cases of which they are the surgeon")
        ]

    def __str__(self) -> str:
        return f"{self.case} plan {self.number}"


class ConfirmationGiven(models.Model):
    """A human answer that the technique asked for, given for one version of the plan."""

    plan = models.ForeignKey(PlanVersion, on_delete=models.PROTECT, related_name="confirmed")
    code = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["plan", "code"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_confirmation_given_once", fields=["plan", "code"]
            ),
        ]
