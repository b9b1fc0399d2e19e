from __future__ import annotations

from django.db import models

from deploy.kit.catalogue import CatalogueRow


class Instrument(CatalogueRow):
    """A kind of instrument: a reamer of one diameter, a trial stem of one size."""

    class Meta(CatalogueRow.Meta):
        constraints = [
            models.UniqueConstraint(name="trays_instrument_ref", fields=["site", "ref"]),
            models.CheckConstraint(
                name="trays_instrument_said",
                condition=~models.Q(ref="") & ~models.Q(role=""),
            ),
        ]
