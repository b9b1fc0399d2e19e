from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from implants.models import Unit
from scheduling.models.case import Case
from trays.models import Tray


class Reservation(models.Model):
    """A promise to one case.  Live until `freed_at`; freed ones are kept."""

    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    freed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class UnitReservation(Reservation):
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="unit_reservations")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="scheduling_unit_reserved_once",
                fields=["unit"],
                condition=Q(freed_at__isnull=True),
            ),
        ]


class TrayReservation(Reservation):
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="tray_reservations")
    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="scheduling_tray_reserved_once_a_case",
                fields=["case", "tray"],
                condition=Q(freed_at__isnull=True),
            ),
        ]
