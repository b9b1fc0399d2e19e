from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from implants.models import Implant
from scheduling.models.case import Case


class Used(models.TextChoices):
    IMPLANTED = "implanted"
    WASTED = "wasted"


class OutsideBox(models.Model):
    """A box that theatre had in hand and the house never received: what its label says, and what
    came of it.  No box of the shelf, so no movement tells of it.  Added, never edited.

    `implant`: the catalogue's item, where the catalogue has it.  `read`: the label as it was
    scanned, empty where it was typed.  `reason`: why it was used without being received.
    """

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="outside_boxes")
    outcome = models.CharField(max_length=16, choices=Used)
    implant = models.ForeignKey(
        Implant, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    role = models.CharField(max_length=64)
    words = models.CharField(max_length=120)
    maker = models.CharField(max_length=120)
    ref = models.CharField("REF", max_length=64)
    gtin = models.CharField("GTIN", max_length=14, blank=True)
    lot = models.CharField("LOT", max_length=40, blank=True)
    serial = models.CharField(max_length=40, blank=True)
    use_by = models.DateField(null=True, blank=True)
    does_not_expire = models.BooleanField(default=False)
    read = models.CharField(max_length=400, blank=True)
    reason = models.CharField(max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        default_permissions = ()
        constraints = [
            models.CheckConstraint(
                name="scheduling_outside_two_differ", condition=~Q(second=F("by"))
            ),
            models.CheckConstraint(
                name="scheduling_outside_named",
                condition=~Q(ref="") & ~Q(reason="") & (~Q(lot="") | ~Q(serial="")),
            ),
            models.CheckConstraint(
                name="scheduling_outside_expiry_said",
                condition=Q(use_by__isnull=False, does_not_expire=False)
                | Q(use_by__isnull=True, does_not_expire=True),
            ),
        ]
        indexes = [
            models.Index(name=f"scheduling_outside_by_{key}", fields=[key])
            for key in ("lot", "serial")
        ]

    @property
    def key(self) -> str:
        """Its name beside the codes of the house's own boxes."""
        return f"outside-{self.pk}"

    def __str__(self) -> str:
        numbers = [f"LOT {self.lot}"] if self.lot else []
        numbers += [f"SN {self.serial}"] if self.serial else []
        return ", ".join([self.words, f"REF {self.ref}", *numbers])


class OutsideBoxVoid(models.Model):
    """An outside box that was entered in error, as two people say.  Added, never edited."""

    box = models.OneToOneField(OutsideBox, on_delete=models.PROTECT, related_name="void")
    reason = models.CharField(max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        default_permissions = ()
        constraints = [
            models.CheckConstraint(
                name="scheduling_outside_void_said",
                condition=~Q(second=F("by")) & ~Q(reason=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.box}: entered in error"
