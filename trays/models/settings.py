from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from trays.weight import LIMIT_GRAMS


class SterileSettings(models.Model):
    """What the house has set for its sterile services.  Settings, not advice."""

    site = models.OneToOneField(Site, on_delete=models.PROTECT, related_name="sterile_settings")
    two_initials = models.BooleanField(
        default=False, help_text="A second person signs a count sheet before it is closed."
    )
    weight_limit_grams = models.PositiveIntegerField(
        default=LIMIT_GRAMS, help_text="A heavier pack is warned of; at most 11340 g (25 lb)."
    )
    sterile_days = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="A released pack is sterile for so many days. Empty: sterility ends by event.",
    )

    class Meta:
        verbose_name_plural = "settings of sterile services"
        constraints = [
            models.CheckConstraint(
                name="trays_settings_weight_limit",
                condition=Q(weight_limit_grams__gte=1, weight_limit_grams__lte=LIMIT_GRAMS),
            ),
            models.CheckConstraint(
                name="trays_settings_sterile_days",
                condition=Q(sterile_days__isnull=True) | Q(sterile_days__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return f"Sterile services of {self.site}"


def settings_of(site: Site) -> SterileSettings:
    """The house's settings, or those of a new house.  One query."""
    return SterileSettings.objects.filter(site=site).first() or SterileSettings(site=site)
