from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from trays.models.machine import Machine
from trays.models.tray import Tray


class LoadState(models.TextChoices):
    OPEN = "open"
    RUNNING = "running"
    AWAITING_RELEASE = "awaiting release"
    PASSED = "passed"
    RELEASED = "released"
    FAILED = "failed"
    WITHDRAWN = "withdrawn"


class Biological(models.TextChoices):
    """What the biological indicator of a load shows."""

    NOT_ASKED = "not asked for"
    AWAITED = "awaited"
    NO_GROWTH = "no growth"
    GROWTH = "growth"


def _person() -> Any:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )


def _value() -> Any:
    return models.DecimalField(max_digits=5, decimal_places=1, null=True)


class Load(models.Model):
    """One cycle of a machine with what is in it.

    A washer's: open, running, passed or failed.  A steriliser's: open, running, awaiting release
    or failed, released, withdrawn (failed or recalled after its release).  "Passed" and
    "released" are entries of a person, never of the machine.  Temperatures in °C, times in minutes.
    """

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="loads")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=16, choices=LoadState, default=LoadState.OPEN)
    cycle = models.CharField(max_length=16, blank=True, help_text="The steriliser's cycle.")
    has_implants = models.BooleanField(default=False)
    opened_at = models.DateTimeField()
    opened_by = _person()
    started_at = models.DateTimeField(null=True)
    started_by = _person()
    lowest_celsius = _value()
    highest_celsius = _value()
    held_minutes = _value()
    deviations = models.JSONField(default=list)
    closed_at = models.DateTimeField(null=True)
    closed_by = _person()
    said = models.CharField(max_length=200, blank=True, help_text="What the person said about it.")
    biological = models.CharField(max_length=16, choices=Biological, default=Biological.NOT_ASKED)
    biological_at = models.DateTimeField(null=True)
    biological_by = _person()
    released_at = models.DateTimeField(null=True)
    released_by = _person()
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = _person()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(name="trays_load_number", fields=["machine", "number"]),
            models.UniqueConstraint(
                name="trays_load_one_at_a_time",
                fields=["machine"],
                condition=Q(state__in=["open", "running"]),
            ),
            models.CheckConstraint(
                name="trays_load_released_by_a_person",
                condition=~Q(state__in=["released", "withdrawn"])
                | Q(released_at__isnull=False, released_by__isnull=False),
            ),
            models.CheckConstraint(
                name="trays_load_choices",
                condition=Q(state__in=LoadState.values, biological__in=Biological.values),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.machine.code}-{self.number}"


class Wash(models.Model):
    """A tray in a washer's load; `seq`: the tray's movement by which it came to cleaning."""

    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="washes")
    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="washes")
    seq = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = _person()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="trays_wash_once_a_load", fields=["load", "tray"]),
        ]


class Pack(models.Model):
    """A tray, counted and wrapped once.  It is what a label names and a steriliser takes.

    From the tray's movement `first_seq` on, up to but not with `last_seq` (None: it is the tray's
    present pack).  `shortages`: what the label says is missing, {REF: quantity}.
    """

    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="packs")
    number = models.PositiveIntegerField()
    first_seq = models.PositiveIntegerField()
    last_seq = models.PositiveIntegerField(null=True)
    packed_at = models.DateTimeField()
    packed_by = _person()
    weight_grams = models.PositiveIntegerField(null=True)
    indicator = models.CharField(
        max_length=64, blank=True, help_text="The indicator inside, as its label says."
    )
    shortages = models.JSONField(default=dict)
    load = models.ForeignKey(Load, on_delete=models.PROTECT, null=True, related_name="packs")
    loaded_at = models.DateTimeField(null=True)
    loaded_by = _person()

    class Meta:
        ordering = ["tray", "number"]
        constraints = [
            models.UniqueConstraint(name="trays_pack_number", fields=["tray", "number"]),
            models.UniqueConstraint(
                name="trays_pack_one_a_tray", fields=["tray"], condition=Q(last_seq__isnull=True)
            ),
            models.CheckConstraint(
                name="trays_pack_in_order",
                condition=Q(last_seq__isnull=True) | Q(last_seq__gt=models.F("first_seq")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tray} pack {self.number}"
