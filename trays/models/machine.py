from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site


class MachineKind(models.TextChoices):
    WASHER = "washer"
    STERILISER = "steriliser"


class Machine(models.Model):
    """A washer or a steriliser.  It is out of use from `down_since` on, for a reason."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=32, help_text="As on its label, which is scanned.")
    kind = models.CharField(max_length=16, choices=MachineKind)
    places = models.PositiveSmallIntegerField(help_text="Trays that it takes at once.")
    cycle_minutes = models.PositiveSmallIntegerField(
        help_text="From start to end, drying and cooling included."
    )
    down_since = models.DateTimeField(null=True, blank=True)
    down_reason = models.CharField(max_length=120, blank=True)
    back_at = models.DateTimeField(null=True, blank=True, help_text="When it should be back.")

    class Meta:
        ordering = ["kind", "code"]
        constraints = [
            models.UniqueConstraint(name="trays_machine_code", fields=["site", "code"]),
            models.CheckConstraint(
                name="trays_machine_sane",
                condition=Q(kind__in=MachineKind.values, places__gte=1, cycle_minutes__gte=1),
            ),
            models.CheckConstraint(
                name="trays_machine_down_for_a_reason",
                condition=Q(down_since__isnull=True, down_reason="")
                | (Q(down_since__isnull=False) & ~Q(down_reason="")),
            ),
        ]

    def __str__(self) -> str:
        return self.code
