from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import Person, Site
from implants.models import Recall
from scheduling.models.case import Case
from trays.models import Load


class Alert(models.Model):
    """Something that interrupts, from when its cause arose until it was gone.

    `cause`: what it is about, in words of a machine; one is open a cause.  `roles`: who can act.
    `case`, `recall`, `load`: where it is seen to, at most one of them.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=40)
    cause = models.CharField(max_length=250)
    case = models.ForeignKey(Case, on_delete=models.PROTECT, null=True, related_name="+")
    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, null=True, related_name="+")
    load = models.ForeignKey(Load, on_delete=models.PROTECT, null=True, related_name="+")
    said = models.TextField()
    roles = models.JSONField(default=list)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-opened_at", "-pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="scheduling_alert_once_a_cause",
                fields=["site", "cause"],
                condition=Q(closed_at=None),
            ),
        ]

    def __str__(self) -> str:
        return self.said


class AlertTold(models.Model):
    """That a person was shown an alert, and that they went to see to it."""

    alert = models.ForeignKey(Alert, on_delete=models.CASCADE, related_name="told")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    shown_at = models.DateTimeField()
    acted_at = models.DateTimeField(null=True)

    class Meta:
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(name="scheduling_alert_told_once", fields=["alert", "person"]),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.alert}"


class VerdictSeen(models.Model):
    """The verdict with which a case was seen last, so that the loss of cover can be noticed.

    A memory for alerts alone: what a case's verdict is, is worked out at each view.
    """

    case = models.OneToOneField(Case, on_delete=models.CASCADE, related_name="+")
    verdict = models.CharField(max_length=32)
    at = models.DateTimeField()

    class Meta:
        default_permissions = ()

    def __str__(self) -> str:
        return f"{self.case}: {self.verdict}"
