from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from implants.models import Unit
from scheduling.models.case import Case
from scheduling.models.pick_list import ScanAnswer
from trays.models import Tray


class LabelCheck(models.Model):
    """A label that was read in theatre, and what was answered.  Added, never edited."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="label_checks")
    unit = models.ForeignKey(
        Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    tray = models.ForeignKey(
        Tray, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    read = models.CharField(max_length=400, help_text="The text as the scanner sent it.")
    answer = models.CharField(max_length=16, choices=ScanAnswer)
    reason = models.JSONField(default=dict, help_text="A code and its values.")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        permissions = [
            ("record_use", "May record what is opened, implanted, wasted and returned"),
            ("sign_in_theatre", "May sign as the second person of what takes two in theatre"),
        ]

    def __str__(self) -> str:
        return f"{self.case}: {self.answer}"


class Opening(models.Model):
    """A box was opened: sterile no more, it never goes back to the shelf.  Added, never edited.

    `override`: the reason for which it was opened although the check said STOP.
    """

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="openings")
    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, related_name="+")
    check_made = models.ForeignKey(LabelCheck, on_delete=models.PROTECT, related_name="openings")
    override = models.CharField(max_length=120, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                name="scheduling_opening_two_differ",
                condition=Q(second__isnull=True) | ~Q(second=F("by")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case}: {self.unit} opened"


class TrayTaken(models.Model):
    """A tray was used for the case although the check said STOP: why, and who.  Added, never
    edited."""

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="trays_taken")
    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="+")
    check_made = models.OneToOneField(LabelCheck, on_delete=models.PROTECT, related_name="taken")
    override = models.CharField(max_length=120)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["id"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(name="scheduling_tray_taken_once", fields=["case", "tray"]),
            models.CheckConstraint(
                name="scheduling_tray_taken_said",
                condition=~Q(override="") & (Q(second__isnull=True) | ~Q(second=F("by"))),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case}: {self.tray} after a STOP"
