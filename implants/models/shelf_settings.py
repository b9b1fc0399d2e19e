from __future__ import annotations

from django.core.validators import RegexValidator
from django.db import models

from deploy.kit.models import Site


class ShelfSettings(models.Model):
    """What the house has set for its shelf.  Settings, not advice; a site without a row has the
    defaults."""

    site = models.OneToOneField(Site, on_delete=models.PROTECT, related_name="shelf_settings")
    least_days_left = models.PositiveIntegerField(
        default=90,
        help_text="A box that arrives with fewer days to its use-by date goes to quarantine.",
    )
    count_every_days = models.PositiveIntegerField(
        default=90, help_text="Every place is counted at least this often."
    )
    currency = models.CharField(
        max_length=3,
        blank=True,
        validators=[RegexValidator("^[A-Z]{3}$", "three capital letters, as ISO 4217 has them")],
        help_text="In which prices are agreed: three letters, such as GBP; empty: none is shown.",
    )

    class Meta:
        verbose_name_plural = "shelf settings"

    def __str__(self) -> str:
        return f"Shelf settings of {self.site}"


def shelf_settings(site: Site) -> ShelfSettings:
    """The site's settings, or the defaults, not saved.  One query."""
    return ShelfSettings.objects.filter(site=site).first() or ShelfSettings(site=site)
