from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import AllowedMove, Movement
from trays.models.tray import Tray


class TrayMove(AllowedMove):
    """An allowed move of a tray; `trays.stages` is the table."""


class TrayMovement(Movement):
    """One entry of a tray's ledger; the times are those that hold from then on."""

    tray = models.ForeignKey(Tray, on_delete=models.PROTECT, related_name="movements")
    move = models.ForeignKey(TrayMove, on_delete=models.PROTECT, related_name="+")
    ready_at = models.DateTimeField(null=True, blank=True)
    expected_at = models.DateTimeField(null=True, blank=True)
    sterile_until = models.DateTimeField(null=True, blank=True)

    class Meta(Movement.Meta):
        abstract = False
        ordering = ["tray", "seq"]
        constraints = [
            *Movement.Meta.constraints,
            models.UniqueConstraint(name="trays_tray_movement_seq", fields=["tray", "seq"]),
            models.UniqueConstraint(
                name="trays_tray_movement_once_a_request",
                fields=["by", "request_key", "tray", "move"],
                condition=~Q(request_key=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tray} {self.seq}: {self.move}"
