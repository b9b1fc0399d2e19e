from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from implants.models import Unit
from scheduling.coverage.values import Need
from scheduling.models.case import Case
from scheduling.models.people import Theatre
from trays.models import Tray


class PickList(models.Model):
    """What is fetched for one case, or for one theatre's day.  Printed in versions."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=12, help_text="Short code, on paper and in addresses.")
    case = models.OneToOneField(
        Case, on_delete=models.PROTECT, null=True, blank=True, related_name="pick_list"
    )
    theatre = models.ForeignKey(
        Theatre, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    day = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(name="scheduling_pick_list_code", fields=["site", "code"]),
            models.UniqueConstraint(
                name="scheduling_pick_list_theatre_day", fields=["theatre", "day"]
            ),
            models.CheckConstraint(
                name="scheduling_pick_list_case_or_day",
                condition=Q(case__isnull=False, theatre__isnull=True, day__isnull=True)
                | Q(case__isnull=True, theatre__isnull=False, day__isnull=False),
            ),
        ]
        permissions = [
            ("print_pick_list", "May print pick lists"),
            ("scan_pick_list", "May scan boxes and trays against a pick list"),
            ("pick_boxes", "May take boxes from the shelf for a case and put them back"),
        ]

    def __str__(self) -> str:
        return self.code


class PickListVersion(models.Model):
    """One printing, kept as it was printed.  The highest number replaces the others."""

    pick_list = models.ForeignKey(PickList, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    printed_at = models.DateTimeField()
    printed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    reserved = models.BooleanField(
        default=False, help_text="Printed and reserved: what it names is promised to the case."
    )
    content = models.JSONField(
        default=dict, help_text="The whole list in the words that were printed."
    )

    class Meta:
        ordering = ["pick_list", "number"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_pick_list_version_number", fields=["pick_list", "number"]
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pick_list} version {self.number}"


class PickLine(models.Model):
    """One box or one tray to fetch.  The words are kept as they were printed."""

    version = models.ForeignKey(PickListVersion, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveIntegerField()
    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="+")
    unit = models.ForeignKey(
        Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    tray = models.ForeignKey(
        Tray, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    need = models.CharField(max_length=16, choices=[(n.value, n.value) for n in Need])
    words = models.CharField(max_length=200, help_text="As printed: size, offset, length.")
    location = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["version", "position"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_pick_line_position", fields=["version", "position"]
            ),
            models.CheckConstraint(
                name="scheduling_pick_line_box_or_tray",
                condition=Q(unit__isnull=False, tray__isnull=True)
                | Q(unit__isnull=True, tray__isnull=False),
            ),
        ]


class ScanAnswer(models.TextChoices):
    MATCHES_LIST = "MATCHES LIST"
    STOP = "STOP"
    ALREADY_SCANNED = "ALREADY SCANNED"


class Scan(models.Model):
    """What was read, and what was answered.  Added, never edited.

    A line is ticked when a scan with MATCHES LIST points to it, and it can be so only once; the
    box was picked, or the tray issued, in the same transaction.
    """

    version = models.ForeignKey(PickListVersion, on_delete=models.PROTECT, related_name="scans")
    line = models.ForeignKey(
        PickLine, on_delete=models.PROTECT, null=True, blank=True, related_name="scans"
    )
    read = models.CharField(max_length=400, help_text="The text as the scanner sent it.")
    answer = models.CharField(max_length=16, choices=ScanAnswer)
    reason = models.JSONField(default=dict, help_text="A code and its values.")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_line_ticked_once",
                fields=["line"],
                condition=Q(answer=ScanAnswer.MATCHES_LIST),
            ),
        ]
