from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Site
from trays.models.configuration import Configuration, ConfigurationVersion
from trays.models.instrument import Instrument
from trays.stages import HELD_STAGES, ON_SITE_STAGES, Stage


class Ownership(models.TextChoices):
    OWNED = "owned"
    LOAN = "loan"
    CONSIGNMENT = "consignment"


class Tray(models.Model):
    """A physical set (or supplementary pack) and its place in the cycle.

    Exactly one of: on site with `ready_at` (when it is, or was, sterile and released);
    awaited from its lender with `expected_at`; or on hold with neither.  `stage`, `seq`, the
    times and `case_ref` (the case that it was issued to) are set by the tray's movements, and the
    database refuses to change them in any other way.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=64)
    asset = models.CharField(
        max_length=30, help_text="GS1 individual asset identifier (GIAI), as on the tray's tag."
    )
    configuration = models.ForeignKey(Configuration, on_delete=models.PROTECT, related_name="trays")
    version = models.ForeignKey(
        ConfigurationVersion,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The count sheet that it was last assembled to.",
    )
    stage = models.CharField(
        max_length=32, choices=Stage, default=NOT_ENTERED, blank=True, editable=False
    )
    seq = models.PositiveIntegerField(default=0, editable=False)
    ready_at = models.DateTimeField(null=True, blank=True, editable=False)
    expected_at = models.DateTimeField(
        null=True,
        blank=True,
        editable=False,
        help_text="A loan not received yet: when it should be here.",
    )
    sterile_until = models.DateTimeField(
        null=True,
        blank=True,
        editable=False,
        help_text="Empty: sterility ends by event, not by date.",
    )
    case_ref = models.CharField(max_length=64, blank=True, editable=False)
    location = models.CharField(max_length=64, blank=True)
    owner = models.CharField(max_length=16, choices=Ownership, default=Ownership.OWNED)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="trays_tray_code", fields=["site", "code"]),
            models.UniqueConstraint(name="trays_tray_asset", fields=["asset"]),
            models.CheckConstraint(
                name="trays_tray_ready_awaited_or_on_hold",
                condition=Q(
                    stage__in=ON_SITE_STAGES, ready_at__isnull=False, expected_at__isnull=True
                )
                | Q(stage=Stage.WITH_SUPPLIER, ready_at__isnull=True)
                | Q(
                    stage__in=[NOT_ENTERED, *HELD_STAGES],
                    ready_at__isnull=True,
                    expected_at__isnull=True,
                ),
            ),
        ]
        permissions = [
            ("read_trays", "May read trays and their contents"),
            ("process_trays", "May take trays through sterile services: clean, count, pack, load"),
            ("release_loads", "May release, fail and withdraw steriliser loads"),
            ("return_trays", "May take trays into theatre and back"),
        ]

    def __str__(self) -> str:
        return self.code


class MissingLine(models.Model):
    """What that very tray lacks of its count sheet."""

    tray = models.ForeignKey(Tray, on_delete=models.CASCADE, related_name="missing_lines")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField(default=1)
    noted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["tray", "instrument__ref"]
        constraints = [
            models.UniqueConstraint(name="trays_missing_once", fields=["tray", "instrument"]),
            models.CheckConstraint(name="trays_missing_quantity", condition=Q(quantity__gte=1)),
        ]
