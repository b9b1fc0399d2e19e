from __future__ import annotations

from django.conf import settings
from django.contrib.postgres.fields import DateTimeRangeField, RangeBoundary, RangeOperators
from django.db import models
from django.db.models import F, Func, Q

from implants.models import Unit
from scheduling.models.case import Case
from scheduling.models.exclusion import PostgresExclusion
from trays.models import Tray


class Reservation(models.Model):
    """A promise to one case.  Live until `freed_at`; freed ones are kept and never revived."""

    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    freed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class UnitReservation(Reservation):
    """`used_on`: the local date on which the case ends, by which the box must be in date."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="unit_reservations")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")
    used_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="scheduling_unit_reserved_once",
                fields=["unit"],
                condition=Q(freed_at__isnull=True),
            ),
        ]


class TrayReservation(Reservation):
    """`busy_from` to `busy_until`: from when the case needs the tray to when it can serve again,
    its turnaround included.  Reckoned when it was promised or the case was moved."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="tray_reservations")
    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="+")
    busy_from = models.DateTimeField()
    busy_until = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="scheduling_tray_reserved_once_a_case",
                fields=["case", "tray"],
                condition=Q(freed_at__isnull=True),
            ),
            # An empty period overlaps with nothing, so the rule below would let it pass.
            models.CheckConstraint(
                name="scheduling_tray_busy_in_order", condition=Q(busy_until__gt=F("busy_from"))
            ),
            # On SQLite a trigger says it: `scheduling.guards`.
            PostgresExclusion(
                name="scheduling_tray_uses_apart",
                expressions=[
                    ("tray", RangeOperators.EQUAL),
                    (
                        Func(
                            F("busy_from"),
                            F("busy_until"),
                            RangeBoundary(),
                            function="TSTZRANGE",
                            output_field=DateTimeRangeField(),
                        ),
                        RangeOperators.OVERLAPS,
                    ),
                ],
                condition=Q(freed_at__isnull=True),
            ),
        ]
