from __future__ import annotations

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from deploy.kit.catalogue import CatalogueRow
from implants.models.supplier import Supplier
from implants.validators import is_gtin

PRICE_DIGITS, PRICE_DECIMALS = 10, 2


class Implant(CatalogueRow):
    """A catalogue implant: one REF, one size, one offset.

    `lead_days`: working days from order to delivery; empty: as its supplier's, and without one
    it cannot be ordered.  `superseded_by`: the REF that the maker sends instead from now on.
    `replaced_on_use`: a standing arrangement, the supplier replaces every use without an order.
    `price`: agreed with the supplier for one box, in the house's currency; empty: not known.
    """

    maker = models.CharField(max_length=120, blank=True)
    gtin = models.CharField("GTIN", max_length=14, blank=True, validators=[is_gtin])
    lead_days = models.PositiveIntegerField(null=True, blank=True)
    replaced_on_use = models.BooleanField(default=False)
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="implants"
    )
    superseded_by = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="supersedes"
    )
    price = models.DecimalField(
        max_digits=PRICE_DIGITS,
        decimal_places=PRICE_DECIMALS,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text="Agreed for one box, in the house's currency; empty where none is known.",
    )

    class Meta(CatalogueRow.Meta):
        constraints = [
            models.UniqueConstraint(name="implants_implant_ref", fields=["site", "ref"]),
            models.UniqueConstraint(
                name="implants_implant_gtin", fields=["site", "gtin"], condition=~Q(gtin="")
            ),
            models.CheckConstraint(
                name="implants_implant_said", condition=~Q(ref="") & ~Q(role="")
            ),
            models.CheckConstraint(
                name="implants_implant_price", condition=Q(price__isnull=True) | Q(price__gte=0)
            ),
        ]

    @property
    def days_to_delivery(self) -> int | None:
        """Working days from order to delivery: its own, else its supplier's."""
        if self.lead_days is None and self.supplier is not None:
            return self.supplier.lead_days
        return self.lead_days
