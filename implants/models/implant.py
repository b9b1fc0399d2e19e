from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.catalogue import CatalogueRow
from implants.validators import is_gtin


class Implant(CatalogueRow):
    """A catalogue implant: one REF, one size, one offset.

    `lead_days`: working days from order to delivery; empty where it cannot be ordered.
    `replaced_on_use`: a standing arrangement, the supplier replaces every use without an order.
    """

    maker = models.CharField(max_length=120, blank=True)
    gtin = models.CharField("GTIN", max_length=14, blank=True, validators=[is_gtin])
    lead_days = models.PositiveIntegerField(null=True, blank=True)
    replaced_on_use = models.BooleanField(default=False)

    class Meta(CatalogueRow.Meta):
        constraints = [
            models.UniqueConstraint(name="implants_implant_ref", fields=["site", "ref"]),
            models.UniqueConstraint(
                name="implants_implant_gtin", fields=["site", "gtin"], condition=~Q(gtin="")
            ),
            models.CheckConstraint(
                name="implants_implant_said", condition=~Q(ref="") & ~Q(role="")
            ),
        ]
