from __future__ import annotations

from django.conf import settings
from django.db import models

from implants.models.implant import Implant


class ParLevel(models.Model):
    """How many boxes of an item the house means to have, here and on order; a person's word.

    Added, never edited: the newest row of an item is in force, and 0 ends it.  `basis`: what the
    proposal rested on when it was accepted, in words.
    """

    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="par_levels")
    level = models.PositiveIntegerField()
    basis = models.TextField(blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["implant", "pk"]
        default_permissions = ()

    def __str__(self) -> str:
        return f"{self.implant.ref}: {self.level}"
