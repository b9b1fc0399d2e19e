from __future__ import annotations

from django.db import models
from django.db.models import Q

from deploy.kit.models import AllowedMove, Movement
from implants.models.unit import Unit


class UnitMove(AllowedMove):
    """An allowed move of a box; `implants.states` is the table."""


class UnitMovement(Movement):
    """One entry of a box's ledger.  `hold` and `expected_at`: as they are from then on."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="movements")
    move = models.ForeignKey(UnitMove, on_delete=models.PROTECT, related_name="+")
    hold = models.CharField(max_length=120, blank=True)
    expected_at = models.DateTimeField(null=True, blank=True)

    class Meta(Movement.Meta):
        abstract = False
        ordering = ["unit", "seq"]
        indexes = [models.Index(name="implants_unit_movement_case", fields=["case_ref"])]
        constraints = [
            *Movement.Meta.constraints,
            models.UniqueConstraint(name="implants_unit_movement_seq", fields=["unit", "seq"]),
            models.UniqueConstraint(
                name="implants_unit_movement_once_a_request",
                fields=["by", "request_key", "unit", "move"],
                condition=~Q(request_key=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit} {self.seq}: {self.move}"
