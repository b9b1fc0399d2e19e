"""Why a tray is held: one table.  A hold ends by a named person, and with a whole reprocessing."""

from __future__ import annotations

from django.db import models

from trays.stages import Stage


class HoldKind(models.TextChoices):
    WET = "wet pack"
    HOLE = "hole in the wrap"
    SEAL = "broken seal"
    INDICATOR = "indicator unchanged"
    COUNT = "count not closed"
    INFECTION = "infection"
    REPAIR = "repair"
    LOAD = "load failed or withdrawn"
    OTHER = "other"


AT_POINT_OF_USE = (HoldKind.WET, HoldKind.HOLE, HoldKind.SEAL, HoldKind.INDICATOR)
"""What makes a pack unusable where it is opened: another tray is wanted at once."""


BY_A_PERSON = tuple(kind for kind in HoldKind if kind is not HoldKind.LOAD)
"""What a person may say; a load holds its packs by itself."""


def stage_of_hold(kind: HoldKind) -> Stage:
    return Stage.REPAIR if kind is HoldKind.REPAIR else Stage.QUARANTINE
