from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from implants.models.implant import Implant


class Owner(models.TextChoices):
    OWNED = "owned"
    CONSIGNMENT = "consignment"
    LOAN = "loan"


class Unit(models.Model):
    """One boxed implant, on the shelf or on its way.

    Use by is inclusive: the box may be used on `expiry`.  A box without a date says so with
    `does_not_expire`; an unknown date cannot be entered.  `expected_at` stays until the receipt
    is recorded: the passing of time is not an arrival.  A non-empty `hold` is the reason why the
    box may not be used.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=64)
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="units")
    lot = models.CharField("LOT", max_length=40, blank=True)
    serial = models.CharField(max_length=40, blank=True)
    expiry = models.DateField("use by", null=True, blank=True)
    does_not_expire = models.BooleanField(default=False)
    expected_at = models.DateTimeField(null=True, blank=True)
    location = models.CharField(max_length=64, blank=True)
    owner = models.CharField(max_length=16, choices=Owner, default=Owner.OWNED)
    hold = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="implants_unit_code", fields=["site", "code"]),
            models.UniqueConstraint(
                name="implants_unit_serial",
                fields=["implant", "serial"],
                condition=~Q(serial=""),
            ),
            models.CheckConstraint(
                name="implants_unit_expiry_said",
                condition=Q(expiry__isnull=False, does_not_expire=False)
                | Q(expiry__isnull=True, does_not_expire=True),
            ),
        ]
        permissions = [("read_shelf", "May read the catalogue and the shelf")]

    def __str__(self) -> str:
        return self.code
