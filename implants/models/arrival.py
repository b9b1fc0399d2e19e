from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from implants.models.implant import Implant
from implants.models.owner import Owner
from implants.models.unit import Unit


class Outcome(models.TextChoices):
    """What has become of a box at the receiving bench."""

    HALF = "half read"
    WAITING = "to be put away"
    RECEIVED = "received"
    QUARANTINE = "in quarantine"
    NOT_IN_CATALOGUE = "not in the catalogue"
    LINKED = "linked to the catalogue"
    SET_ASIDE = "not received"


IN_HAND = (Outcome.HALF, Outcome.WAITING)
"""On the bench before the person: one box at a time."""


class Arrival(models.Model):
    """One box at the receiving bench: what was read of it, and what became of it.

    `item`: the identity on the label, empty where REF and LOT were typed.  `expiry` None without
    `does_not_expire`: not said yet, so that the box cannot be received.  `unit`: the box as it
    was entered.  `findings`: why it stopped, each `{"code", "asked", "read"}`.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    text = models.CharField(max_length=400)
    item = models.CharField(max_length=40, blank=True)
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, null=True, related_name="+")
    lot = models.CharField(max_length=40, blank=True)
    serial = models.CharField(max_length=40, blank=True)
    expiry = models.DateField(null=True)
    does_not_expire = models.BooleanField(default=False)
    quantity = models.PositiveIntegerField(null=True)
    ref_on_label = models.CharField(max_length=64, blank=True)
    owner = models.CharField(max_length=16, choices=Owner, default=Owner.OWNED)
    outcome = models.CharField(max_length=24, choices=Outcome)
    findings = models.JSONField(default=list)
    cautions = models.JSONField(default=list)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, related_name="+")
    note = models.CharField(max_length=120, blank=True)
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        default_permissions = ()
        permissions = [("receive", "May receive boxes and put them away")]
        indexes = [models.Index(fields=["site", "outcome"], name="implants_arrival_outcome")]
        constraints = [
            models.UniqueConstraint(
                name="implants_arrival_one_in_hand",
                fields=["site", "by"],
                condition=Q(outcome__in=IN_HAND),
            ),
            models.CheckConstraint(
                name="implants_arrival_entered",
                condition=Q(outcome__in=[Outcome.RECEIVED, Outcome.QUARANTINE], unit__isnull=False)
                | ~Q(outcome__in=[Outcome.RECEIVED, Outcome.QUARANTINE]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item or self.text}: {self.outcome}"

    @property
    def says_use_by(self) -> bool:
        return self.does_not_expire or self.expiry is not None
