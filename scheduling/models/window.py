from __future__ import annotations

from django.conf import settings
from django.db import models

from scheduling.models.people import Surgeon
from scheduling.models.technique import Technique


class Window(models.Model):
    """How a surgeon usually plans with one technique, under a name.  Versions are added, never
    edited; the highest number is in force, unless it is `retired`.

    Defaults for the plan form, in the form of a plan: `components`, `facts`, and `windows`
    {ladder: [below, above]}.  A new house has none: nothing here is advice.
    """

    surgeon = models.ForeignKey(Surgeon, on_delete=models.PROTECT, related_name="windows")
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=60)
    number = models.PositiveIntegerField()
    components = models.JSONField(default=dict, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    windows = models.JSONField(default=dict, blank=True)
    retired = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["surgeon", "technique", "name", "number"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_window_number",
                fields=["surgeon", "technique", "name", "number"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.number}"
