from __future__ import annotations

from datetime import date, timedelta

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site


class Supplier(models.Model):
    """Who sends boxes, and on what terms.

    `lead_days`: working days from order to delivery, for items that state none themselves.
    `cut_off_minute`: minutes after local midnight until which an order counts as placed today;
    empty: as the house's own.  `use_by_days`: every box comes with at least so many days before
    its use-by date; a box that is only expected is counted with that date, no later one.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=24)
    name = models.CharField(max_length=120)
    account = models.CharField(
        max_length=40, blank=True, help_text="The number under which they know this house."
    )
    contact = models.CharField(
        max_length=120, blank=True, help_text="Where orders go: an address or a telephone number."
    )
    lead_days = models.PositiveIntegerField(null=True, blank=True)
    cut_off_minute = models.PositiveIntegerField(
        null=True, blank=True, help_text="Minutes after midnight; empty: the house's own cut-off."
    )
    use_by_days = models.PositiveIntegerField(
        default=365, help_text="Boxes come with at least so many days before their use-by date."
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="implants_supplier_code", fields=["site", "code"]),
            models.CheckConstraint(
                name="implants_supplier_said", condition=~Q(code="") & ~Q(name="")
            ),
            models.CheckConstraint(
                name="implants_supplier_minute_of_day",
                condition=Q(cut_off_minute__isnull=True) | Q(cut_off_minute__lt=1440),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def use_by_of_a_box_due(self, day: date) -> date:
        """The earliest use-by date that the terms allow a box that comes on the day."""
        return day + timedelta(days=self.use_by_days)


class SupplierClosedDate(models.Model):
    """A day on which the supplier takes no order and delivers nothing."""

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="closed_dates")
    day = models.DateField()

    class Meta:
        ordering = ["day"]
        constraints = [
            models.UniqueConstraint(
                name="implants_supplier_closed_once", fields=["supplier", "day"]
            ),
        ]

    def __str__(self) -> str:
        return self.day.isoformat()
