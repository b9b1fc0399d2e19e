from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from deploy.kit.models import AppendOnly
from trays.models.instrument import Instrument
from trays.models.tray import Tray


class Way(models.TextChoices):
    """How an instrument came to be elsewhere than in the tray that it came from."""

    MIXED = "came back mixed"
    BORROWED = "borrowed"
    INFECTION = "infection quarantine"
    REPAIR = "repair"
    BACK = "put back"


BETWEEN_TRAYS = (Way.MIXED, Way.BORROWED)
OUT_OF_TRAYS = (Way.INFECTION, Way.REPAIR)


class InstrumentEntry(AppendOnly):
    """An instrument went from one tray to another, out of a tray, or back.

    `puts_back`: the entry that this one ends.  What was borrowed, or is out of the trays, is away
    until such an entry; what came back mixed is where it belongs.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField(default=1)
    way = models.CharField(max_length=32, choices=Way)
    from_tray = models.ForeignKey(Tray, on_delete=models.PROTECT, null=True, related_name="gave")
    to_tray = models.ForeignKey(Tray, on_delete=models.PROTECT, null=True, related_name="got")
    puts_back = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, related_name="put_back_by"
    )
    back_on = models.DateField(null=True, help_text="When a repair should be back.")
    note = models.CharField(max_length=120, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta(AppendOnly.Meta):
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="trays_instrument_entry_quantity", condition=Q(quantity__gte=1)
            ),
            models.CheckConstraint(
                name="trays_instrument_entry_sides",
                condition=Q(
                    Q(way__in=BETWEEN_TRAYS)
                    & Q(from_tray__isnull=False, to_tray__isnull=False, puts_back__isnull=True)
                    & ~Q(from_tray=F("to_tray"))
                )
                | Q(
                    way__in=OUT_OF_TRAYS,
                    from_tray__isnull=False,
                    to_tray__isnull=True,
                    puts_back__isnull=True,
                )
                | Q(way=Way.BACK, to_tray__isnull=False, puts_back__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.instrument}: {self.way}"
