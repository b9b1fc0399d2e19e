from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from trays.hold_kinds import HoldKind
from trays.models.tray import Tray


class Hold(models.Model):
    """Why a tray is held, since when, and who lifted it.  `back_on`: when a repair should be
    back.  The stage itself is the ledger's."""

    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="holds")
    kind = models.CharField(max_length=32, choices=HoldKind)
    note = models.CharField(max_length=80, blank=True)
    case_ref = models.CharField(max_length=64, blank=True, help_text="The case that it was for.")
    back_on = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    lifted_at = models.DateTimeField(null=True)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    lifted_note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                name="trays_hold_one_a_tray", fields=["tray"], condition=Q(lifted_at__isnull=True)
            ),
            models.CheckConstraint(
                name="trays_hold_lifted_by_a_person",
                condition=Q(lifted_at__isnull=True, lifted_by__isnull=True)
                | Q(lifted_at__isnull=False, lifted_by__isnull=False),
            ),
        ]


class Handover(models.Model):
    """One shift hands over to the next: who, when, and what was to be said."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-pk"]
