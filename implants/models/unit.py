from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Site
from implants.models.implant import Implant
from implants.models.order_line import OrderLine
from implants.models.owner import Owner
from implants.states import HELD, UnitState


class Unit(models.Model):
    """One boxed implant: on its way, on the shelf, or gone.

    Use by is inclusive: the box may be used on `expiry`.  A box without a date says so with
    `does_not_expire`; an unknown date cannot be entered.

    `state`, `seq`, `hold`, `expected_at` and `case_ref` are set by the box's movements, and the
    database refuses to change them in any other way.  `expected_at` stays until the receipt is
    recorded: the passing of time is not an arrival, and a box may be on hold before it is here.
    `hold`: why the box may not be used.  `case_ref`: for which case it is picked or was used.

    `order_line`: what it was ordered with.  Such a box is awaited with the earliest use-by date
    that the supplier's terms allow; its receipt states the real one.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=64)
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="units")
    lot = models.CharField("LOT", max_length=40, blank=True)
    serial = models.CharField(max_length=40, blank=True)
    expiry = models.DateField("use by", null=True, blank=True)
    does_not_expire = models.BooleanField(default=False)
    state = models.CharField(
        max_length=32, choices=UnitState, default=NOT_ENTERED, blank=True, editable=False
    )
    seq = models.PositiveIntegerField(default=0, editable=False)
    expected_at = models.DateTimeField(null=True, blank=True, editable=False)
    location = models.CharField(max_length=64, blank=True)
    owner = models.CharField(max_length=16, choices=Owner, default=Owner.OWNED)
    order_line = models.ForeignKey(
        OrderLine,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="boxes",
    )
    hold = models.CharField(max_length=120, blank=True, editable=False)
    case_ref = models.CharField(max_length=64, blank=True, editable=False)

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
            models.CheckConstraint(
                name="implants_unit_standing",
                condition=Q(state=UnitState.AWAITED, hold="", expected_at__isnull=False)
                | (Q(state__in=HELD) & ~Q(hold=""))
                | Q(
                    state__in=[
                        NOT_ENTERED,
                        *(s for s in UnitState if s not in (UnitState.AWAITED, *HELD)),
                    ],
                    hold="",
                    expected_at__isnull=True,
                ),
            ),
        ]
        indexes = [
            models.Index(name=f"implants_unit_by_{key}", fields=["site", key])
            for key in ("lot", "serial", "case_ref")
        ]
        permissions = [("read_shelf", "May read the catalogue and the shelf")]

    def __str__(self) -> str:
        return self.code
