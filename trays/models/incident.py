from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from trays.models.load import Pack


class Incident(models.Model):
    """A pack of a load that is no good was opened for a case.  It is open until a named person
    says what was done about it.  `opened_at`: when the pack went into theatre."""

    pack = models.OneToOneField(Pack, on_delete=models.PROTECT, related_name="incident")
    case_ref = models.CharField(max_length=64, blank=True)
    opened_at = models.DateTimeField()
    at = models.DateTimeField(help_text="When it became known.")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    outcome = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="trays_incident_closed_by_a_person",
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | (Q(closed_at__isnull=False, closed_by__isnull=False) & ~Q(outcome="")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pack}, case {self.case_ref}"
