from __future__ import annotations

from django.conf import settings
from django.db import models

from deploy.kit.models import Site
from scheduling.models.people import Surgeon


class SizeDifference(models.Model):
    """How far the size used lay from the size planned, on one line, as a person accepted it.

    `surgeon`: of whose cases alone; None: of all.  Added, never edited: the newest row of a line
    and surgeon is in force.  `record`: used − planned, in rungs
    of the line → how many cases of the house's own.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="size_differences")
    role = models.CharField(max_length=64)
    system = models.CharField(max_length=64, blank=True)
    surgeon = models.ForeignKey(Surgeon, on_delete=models.PROTECT, null=True, related_name="+")
    record = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        default_permissions = ()

    def __str__(self) -> str:
        return f"{self.role} {self.system}: {sum(self.record.values())} cases"
