from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from implants.models.implant import Implant
from implants.models.unit import Unit


class Count(models.Model):
    """A count of the boxes in some places.  Blind: the list is not shown while it runs.

    `at_place`: where the person stands; the place that was scanned last.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    places: Any = models.JSONField()
    at_place = models.CharField(max_length=64)
    is_blind = models.BooleanField(default=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-pk"]
        default_permissions = ()
        permissions = [("count_shelf", "May count the shelf")]
        constraints = [
            models.CheckConstraint(
                name="implants_count_closed_by_somebody",
                condition=Q(closed_at=None, closed_by=None)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        said = self.places[0] if len(self.places) == 1 else f"{len(self.places)} places"
        return f"Count {self.pk}: {said}"

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class Found(models.TextChoices):
    """How a line of a count came to be there."""

    EXPECTED = "expected"
    ELSEWHERE = "belongs elsewhere"
    NOT_IN_RECORD = "not in the record"


class Explained(models.TextChoices):
    """What a difference is said to be; empty: it stays open."""

    MISSING = "missing"
    PUT_AWAY = "put away here"
    PUT_BACK = "put back where it belongs"
    TO_RECEIVE = "to be received"
    MOVED = "moved meanwhile"
    OTHER = "explained"


class CountLine(models.Model):
    """One box of a count: expected there, or found there.  `seq`: the box's last movement when it
    was put on the list; a box that moved since is no difference."""

    count = models.ForeignKey(Count, on_delete=models.PROTECT, related_name="lines")
    place = models.CharField(max_length=64)
    found = models.CharField(max_length=24, choices=Found)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, related_name="+")
    seq = models.PositiveIntegerField(default=0)
    implant = models.ForeignKey(Implant, on_delete=models.PROTECT, null=True, related_name="+")
    read = models.CharField(max_length=200, blank=True)
    counted_at = models.DateTimeField(null=True)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    explained = models.CharField(max_length=32, choices=Explained, blank=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["place", "pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="implants_count_line_once",
                fields=["count", "unit"],
                condition=Q(unit__isnull=False),
            ),
            models.CheckConstraint(
                name="implants_count_line_expects_a_box",
                condition=~Q(found=Found.EXPECTED) | Q(unit__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit or self.read} at {self.place}"

    @property
    def is_counted(self) -> bool:
        return self.counted_at is not None

    @property
    def is_difference(self) -> bool:
        return self.found != Found.EXPECTED or not self.is_counted

    @property
    def may_be(self) -> list[Explained]:
        """What this difference can be explained by."""
        return MAY_BE[Found(self.found)]


MAY_BE: dict[Found, list[Explained]] = {
    Found.EXPECTED: [Explained.MISSING, Explained.OTHER],
    Found.ELSEWHERE: [Explained.PUT_AWAY, Explained.PUT_BACK, Explained.OTHER],
    Found.NOT_IN_RECORD: [Explained.TO_RECEIVE, Explained.OTHER],
}
