from __future__ import annotations

from datetime import datetime, timedelta

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from scheduling.coverage.values import Priority
from scheduling.models.people import Surgeon, Theatre


class CaseStatus(models.TextChoices):
    BOOKED = "booked"
    STARTED = "started"
    ENDED = "ended"
    CANCELLED = "cancelled"


class Side(models.TextChoices):
    LEFT = "left"
    RIGHT = "right"


class Case(models.Model):
    """One booked operation.  `ref` is a pseudonym: no patient data is kept here.

    `side` may be empty only where an imported booking did not say it.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    ref = models.CharField(max_length=64)
    theatre = models.ForeignKey(
        Theatre, on_delete=models.PROTECT, null=True, blank=True, related_name="cases"
    )
    surgeon = models.ForeignKey(
        Surgeon, on_delete=models.PROTECT, null=True, blank=True, related_name="cases"
    )
    start = models.DateTimeField()
    minutes = models.PositiveIntegerField()
    priority = models.CharField(
        max_length=16,
        choices=[(p.value, p.value) for p in Priority],
        default=Priority.ELECTIVE.value,
    )
    side = models.CharField(max_length=8, choices=Side, blank=True)
    status = models.CharField(max_length=16, choices=CaseStatus, default=CaseStatus.BOOKED)

    class Meta:
        ordering = ["start", "ref"]
        constraints = [
            models.UniqueConstraint(name="scheduling_case_ref", fields=["site", "ref"]),
            models.CheckConstraint(name="scheduling_case_minutes", condition=Q(minutes__gte=1)),
            models.CheckConstraint(
                name="scheduling_case_choices",
                condition=Q(
                    priority__in=[p.value for p in Priority],
                    status__in=CaseStatus.values,
                    side__in=["", *Side.values],
                ),
            ),
        ]
        permissions = [
            ("read_cases", "May read every case and its coverage"),
            ("read_own_cases", "May read the cases of which they are the surgeon"),
            ("book_case", "May book, move and cancel cases"),
            ("book_own_case", "May book, move and cancel the cases of which they are the surgeon"),
            ("take_on_gaps", "May take on the gaps of a case"),
            ("run_case", "May start and end a case"),
            ("reserve", "May reserve units and trays for a case"),
        ]

    def __str__(self) -> str:
        return self.ref

    @property
    def end(self) -> datetime:
        return self.start + timedelta(minutes=self.minutes)
