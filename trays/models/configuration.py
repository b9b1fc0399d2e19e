from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from deploy.kit.models import Site
from trays.models.instrument import Instrument


class Configuration(models.Model):
    """What a kind of tray holds, and how long a turnaround of it takes (opening minutes)."""

    SUPPLEMENTARY = "supplementary"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=64)
    name = models.CharField(max_length=200, blank=True)
    kind = models.CharField(
        max_length=40,
        help_text="base, add-on, stand-alone, extraction, power, … or supplementary "
        "(a pack of a single instrument).",
    )
    turnaround_minutes = models.PositiveIntegerField()
    fast_track_minutes = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="trays_configuration_code", fields=["site", "code"]),
            models.CheckConstraint(
                name="trays_configuration_turnaround", condition=Q(turnaround_minutes__gte=1)
            ),
            models.CheckConstraint(
                name="trays_configuration_fast_track",
                condition=Q(fast_track_minutes__isnull=True)
                | Q(fast_track_minutes__lte=F("turnaround_minutes")),
            ),
        ]

    def __str__(self) -> str:
        return self.name or self.code

    @property
    def shortest_turnaround(self) -> int:
        """Opening minutes: by the fast track, where there is one."""
        return self.fast_track_minutes or self.turnaround_minutes


class ConfigurationVersion(models.Model):
    """One issue of the count sheet.  The highest number is in force; older ones are kept."""

    configuration = models.ForeignKey(
        Configuration, on_delete=models.PROTECT, related_name="versions"
    )
    number = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["configuration", "number"]
        constraints = [
            models.UniqueConstraint(
                name="trays_version_number", fields=["configuration", "number"]
            ),
        ]

    def __str__(self) -> str:
        return f"{self.configuration} v{self.number}"


class Content(models.Model):
    """One line of a count sheet, in tray order."""

    version = models.ForeignKey(
        ConfigurationVersion, on_delete=models.CASCADE, related_name="contents"
    )
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField(default=1)
    position = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["version", "position", "id"]
        constraints = [
            models.UniqueConstraint(name="trays_content_once", fields=["version", "instrument"]),
            models.CheckConstraint(name="trays_content_quantity", condition=Q(quantity__gte=1)),
        ]
