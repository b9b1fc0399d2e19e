from __future__ import annotations

from django.db import models

from deploy.kit.models import Person
from implants.models import Implant


class GapNote(models.Model):
    """Who is on the gap of an item, and what they did: added, never edited.

    The notes since the last one that says `done` are in force; the first of them says since when,
    the last one who.
    """

    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    note = models.CharField(max_length=200, blank=True)
    done = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]
        default_permissions = ()

    def __str__(self) -> str:
        return f"{self.implant}: {'done' if self.done else self.note}"
