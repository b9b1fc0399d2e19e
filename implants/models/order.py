from __future__ import annotations

from django.db import models

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import AllowedMove, Movement, Site
from implants.models.supplier import Supplier
from implants.order_states import OrderState


class Order(models.Model):
    """What is asked of one supplier at one time.

    `code`: our number.  `supplier_ref`: theirs, from the confirmation on.  State and
    `supplier_ref` are set by the order's movements, and in no other way.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField("order number", max_length=24)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(
        max_length=32, choices=OrderState, default=NOT_ENTERED, blank=True, editable=False
    )
    seq = models.PositiveIntegerField(default=0, editable=False)
    supplier_ref = models.CharField(max_length=64, blank=True, editable=False)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(name="implants_order_code", fields=["site", "code"]),
        ]
        permissions = [("order_implants", "May order implants and set par levels")]

    def __str__(self) -> str:
        return self.code


class OrderMove(AllowedMove):
    """An allowed move of an order; `implants.order_states` is the table."""


class OrderMovement(Movement):
    """One entry of an order's ledger; `reason` says what was changed or promised."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="movements")
    move = models.ForeignKey(OrderMove, on_delete=models.PROTECT, related_name="+")
    supplier_ref = models.CharField(max_length=64, blank=True)

    class Meta(Movement.Meta):
        abstract = False
        ordering = ["order", "seq"]
        constraints = [
            *Movement.Meta.constraints,
            models.UniqueConstraint(name="implants_order_movement_seq", fields=["order", "seq"]),
        ]

    def __str__(self) -> str:
        return f"{self.order} {self.seq}: {self.move}"
