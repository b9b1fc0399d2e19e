from __future__ import annotations

from django.db import models

from deploy.kit.catalogue import CatalogueRow


class Instrument(CatalogueRow):
    """A kind of instrument: a reamer of one diameter, a trial stem of one size."""

    refilled = models.BooleanField(
        default=False,
        help_text="Used up and filled up at assembly, as screws and cables inside a tray are. They "
        "are implants: a load with them waits for its biological indicator.",
    )

    class Meta(CatalogueRow.Meta):
        constraints = [
            models.UniqueConstraint(name="trays_instrument_ref", fields=["site", "ref"]),
            models.CheckConstraint(
                name="trays_instrument_said",
                condition=~models.Q(ref="") & ~models.Q(role=""),
            ),
        ]
