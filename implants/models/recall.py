from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from deploy.kit.models import Site
from implants.models.implant import Implant
from implants.models.unit import Unit


class Recall(models.Model):
    """Boxes of some lots or serials may not be used.  A drill says so and changes nothing.

    It stays in force when it is closed: closing says that every box was found or accounted for.
    `withdrawn`: it was opened in error, or the maker took it back, and stops nothing any more.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    title = models.CharField(max_length=100)
    is_drill = models.BooleanField(default=False)
    withdrawn = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    closed_second = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        default_permissions = ()
        permissions = [
            ("read_recalls", "May read recalls and scan what is retrieved"),
            ("open_recall", "May open a recall"),
            ("close_recall", "May close a recall, as one of two"),
            ("read_recipients", "May see which cases received a recalled implant"),
        ]
        constraints = [
            models.CheckConstraint(
                name="implants_recall_closed_by_two",
                condition=Q(closed_at=None, closed_by=None, closed_second=None, withdrawn=False)
                | (
                    Q(
                        closed_at__isnull=False,
                        closed_by__isnull=False,
                        closed_second__isnull=False,
                    )
                    & ~Q(closed_by=F("closed_second"))
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{'Drill' if self.is_drill else 'Recall'} {self.pk}: {self.title}"

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class RecallLine(models.Model):
    """What a recall names: boxes of an item with this lot, or this serial; all where neither."""

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="lines")
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="+")
    lot = models.CharField("LOT", max_length=40, blank=True)
    serial = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="implants_recall_line_once", fields=["recall", "implant", "lot", "serial"]
            ),
        ]

    def __str__(self) -> str:
        said = f"LOT {self.lot}" if self.lot else f"SN {self.serial}" if self.serial else "all"
        return f"{self.implant.ref}, {said}"


class RecallBox(models.Model):
    """A box to be retrieved.  `was`, `place` and `case_ref`: where it stood when the recall was
    opened.  Done with when it is found by scan, or `note` says why it cannot be."""

    recall = models.ForeignKey(Recall, on_delete=models.PROTECT, related_name="boxes")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")
    was = models.CharField(max_length=32)
    place = models.CharField(max_length=64, blank=True)
    case_ref = models.CharField(max_length=64, blank=True)
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["place", "pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(name="implants_recall_box_once", fields=["recall", "unit"]),
        ]

    def __str__(self) -> str:
        return f"{self.unit} of recall {self.recall_id}"

    @property
    def is_done(self) -> bool:
        return self.done_at is not None
