from __future__ import annotations

from django.conf import settings
from django.db import models

from trays.models.count import CountLine


class CountPhoto(models.Model):
    """What somebody photographed of a line of a count: a piece that is broken, or worn.

    In the database, so that a backup has it too; `kind` is its media type.
    """

    line = models.ForeignKey(CountLine, on_delete=models.PROTECT, related_name="photos")
    kind = models.CharField(max_length=16)
    content = models.BinaryField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
