from __future__ import annotations

from django.conf import settings
from django.db import models

from trays.models.tray import Tray


class ReturnNote(models.Model):
    """What theatre says of a tray that it sends back; it rides along until the tray is packed.

    `seq`: the tray's movement by which it came back.  `count_open`: the count at the end of the
    operation was not closed.
    """

    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="return_notes")
    seq = models.PositiveIntegerField()
    note = models.CharField(max_length=200, blank=True)
    count_open = models.BooleanField(default=False)
    case_ref = models.CharField(max_length=64, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="trays_return_note_says_something",
                condition=~models.Q(note="") | models.Q(count_open=True),
            ),
        ]
