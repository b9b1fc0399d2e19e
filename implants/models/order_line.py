from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from implants.models.implant import Implant
from implants.models.order import Order
from implants.models.owner import Owner


class Terms(models.TextChoices):
    """What the supplier is asked for on a line."""

    BUY = "buy"
    BILL_AND_REPLACE = "bill the used box and send another"
    BILL_ONLY = "bill the used box, send none"


class OrderLine(models.Model):
    """So many boxes of one item, as whose they come, and on what terms.

    Which of them have a date, and which are here, its boxes say (`Unit.order_line`).
    `not_coming`: how many the supplier will not send after all.  `instead_of`: the line that
    this one stands in for, where the supplier sends another REF.  `why`: for the house alone.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines")
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="+")
    owner = models.CharField(max_length=16, choices=Owner, default=Owner.OWNED)
    terms = models.CharField(max_length=40, choices=Terms, default=Terms.BUY)
    quantity = models.PositiveIntegerField()
    not_coming = models.PositiveIntegerField(default=0)
    instead_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="substitutes"
    )
    why = models.TextField(blank=True)

    class Meta:
        ordering = ["order", "pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="implants_order_line_once", fields=["order", "implant", "owner", "terms"]
            ),
            models.CheckConstraint(
                name="implants_order_line_quantity",
                condition=Q(quantity__gte=1, not_coming__lte=F("quantity")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.implant.ref}"

    @property
    def sends_boxes(self) -> bool:
        return self.terms != Terms.BILL_ONLY
