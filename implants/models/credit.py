from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from implants.models.supplier import Supplier
from implants.models.unit import Unit


class Credit(models.Model):
    """A box that went back, and for which the supplier owes the house a credit.

    `number`: of their credit note, with which it is settled.
    """

    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, related_name="credit")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="credits")
    reason = models.CharField(max_length=120)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    number = models.CharField(max_length=40, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    settled_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["pk"]
        default_permissions = ()
        constraints = [
            models.CheckConstraint(
                name="implants_credit_settled_with_number",
                condition=Q(settled_at__isnull=True, settled_by__isnull=True, number="")
                | (Q(settled_at__isnull=False, settled_by__isnull=False) & ~Q(number="")),
            ),
        ]

    def __str__(self) -> str:
        return f"credit for {self.unit}"
