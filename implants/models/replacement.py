from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from implants.models.implant import Implant
from implants.models.order_line import OrderLine
from implants.models.owner import Owner
from implants.models.unit import Unit


class OnUse(models.TextChoices):
    """What follows when a box is used, opened or lost."""

    REPLACE = "order another"
    BILL_AND_REPLACE = "bill it and order another"
    BILL_ONLY = "bill it, order none"
    BY_ITSELF = "the supplier replaces it without an order"


class UseRule(models.Model):
    """The house's word for one item and one kind of owner, where it differs from the usual."""

    implant = models.ForeignKey(Implant, on_delete=models.CASCADE, related_name="use_rules")
    owner = models.CharField(max_length=16, choices=Owner)
    on_use = models.CharField(max_length=48, choices=OnUse)

    class Meta:
        ordering = ["implant", "owner"]
        constraints = [
            models.UniqueConstraint(name="implants_use_rule_once", fields=["implant", "owner"]),
        ]

    def __str__(self) -> str:
        return f"{self.owner}: {self.on_use}"


class Replacement(models.Model):
    """How a used box was settled, once: by a line of an order, or by a decision with its note."""

    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, related_name="replacement")
    line = models.ForeignKey(
        OrderLine, on_delete=models.CASCADE, null=True, related_name="replaces"
    )
    note = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        default_permissions = ()
        constraints = [
            models.CheckConstraint(
                name="implants_replacement_said",
                condition=Q(line__isnull=False) | ~Q(note=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit}: {self.line or self.note}"
