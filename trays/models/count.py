from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from trays.models.configuration import ConfigurationVersion
from trays.models.instrument import Instrument
from trays.models.tray import Tray


def _person() -> Any:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )


class Count(models.Model):
    """A count sheet that is being filled in, or was, at inspection and assembly.

    `seq`: the tray's movement at which it was begun.  One at a time is open.
    """

    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="counts")
    version = models.ForeignKey(ConfigurationVersion, on_delete=models.PROTECT, related_name="+")
    seq = models.PositiveIntegerField()
    opened_at = models.DateTimeField()
    opened_by = _person()
    closed_at = models.DateTimeField(null=True)
    closed_by = _person()
    second = _person()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                name="trays_count_one_open", fields=["tray"], condition=Q(closed_at__isnull=True)
            ),
            models.CheckConstraint(
                name="trays_count_closed_by_a_person",
                condition=Q(closed_at__isnull=True) | Q(closed_by__isnull=False),
            ),
            models.CheckConstraint(
                name="trays_count_two_differ",
                condition=Q(second__isnull=True) | ~Q(second=F("closed_by")),
            ),
        ]


class CountLine(models.Model):
    """One line of the sheet: so many are `expected`, so many `present` (None: not said yet).

    `broken`: of those that are not present, how many lie there broken.  `replaced_by`: what the
    piece that is present came from, if it is not the tray's own.
    """

    count = models.ForeignKey(Count, on_delete=models.PROTECT, related_name="lines")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    position = models.PositiveIntegerField()
    expected = models.PositiveIntegerField()
    present = models.PositiveIntegerField(null=True)
    broken = models.PositiveIntegerField(default=0)
    replaced_by = models.CharField(max_length=64, blank=True)
    refilled = models.PositiveIntegerField(default=0)
    said_at = models.DateTimeField(null=True)
    said_by = _person()

    class Meta:
        ordering = ["count", "position"]
        constraints = [
            models.UniqueConstraint(name="trays_count_line_once", fields=["count", "instrument"]),
            models.CheckConstraint(
                name="trays_count_line_adds_up",
                condition=Q(present__isnull=True)
                | Q(present__lte=F("expected"), broken__lte=F("expected") - F("present")),
            ),
            models.CheckConstraint(
                name="trays_count_line_refilled_is_there",
                condition=Q(refilled=0) | Q(present__isnull=False, refilled__lte=F("present")),
            ),
        ]

    @property
    def missing(self) -> int:
        """How many the tray goes without; 0 while nothing was said."""
        return 0 if self.present is None else self.expected - self.present
