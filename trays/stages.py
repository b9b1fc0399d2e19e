"""The stages of a tray: one table that everything refers to.

A stage is where a tray stands in its cycle.  `readiness` says what it means for cover:
`ready` (sterile and released), `forecast` (back at a stated or reckoned time), `held` (not
available until somebody lifts the hold).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from django.db import models


class Stage(models.TextChoices):
    RETURNED_USED = "returned used"
    CLEANING = "cleaning"
    ASSEMBLY = "inspection and assembly"
    PACKED = "packed"
    STERILISING = "sterilising"
    AWAITING_RELEASE = "awaiting release"
    STERILE_STORE = "sterile store"
    ISSUED = "issued"
    IN_THEATRE = "in theatre"
    QUARANTINE = "quarantine"
    REPAIR = "repair"
    WITH_SUPPLIER = "with supplier"


class Doer(StrEnum):
    """Who moves a tray into a stage."""

    STERILE_SERVICES = "sterile services"
    THEATRE = "theatre"
    COORDINATOR = "implant coordinator"


@dataclass(frozen=True, slots=True)
class StageRow:
    """`next`: the stages that may follow; `doer`: who moves a tray into this one."""

    readiness: Literal["ready", "forecast", "held"]
    next: frozenset[Stage]
    doer: Doer


_HOLDS = frozenset({Stage.QUARANTINE, Stage.REPAIR, Stage.WITH_SUPPLIER})


def _row(
    readiness: Literal["ready", "forecast", "held"], doer: Doer, *following: Stage
) -> StageRow:
    return StageRow(readiness, frozenset(following) | _HOLDS, doer)


STAGES: Mapping[Stage, StageRow] = {
    Stage.RETURNED_USED: _row("forecast", Doer.THEATRE, Stage.CLEANING),
    Stage.CLEANING: _row("forecast", Doer.STERILE_SERVICES, Stage.ASSEMBLY, Stage.CLEANING),
    Stage.ASSEMBLY: _row("forecast", Doer.STERILE_SERVICES, Stage.PACKED, Stage.CLEANING),
    Stage.PACKED: _row("forecast", Doer.STERILE_SERVICES, Stage.STERILISING, Stage.ASSEMBLY),
    Stage.STERILISING: _row("forecast", Doer.STERILE_SERVICES, Stage.AWAITING_RELEASE),
    Stage.AWAITING_RELEASE: _row(
        "forecast", Doer.STERILE_SERVICES, Stage.STERILE_STORE, Stage.ASSEMBLY
    ),
    Stage.STERILE_STORE: _row("ready", Doer.STERILE_SERVICES, Stage.ISSUED, Stage.ASSEMBLY),
    Stage.ISSUED: _row("ready", Doer.STERILE_SERVICES, Stage.IN_THEATRE, Stage.STERILE_STORE),
    Stage.IN_THEATRE: _row("forecast", Doer.THEATRE, Stage.RETURNED_USED),
    Stage.QUARANTINE: _row("held", Doer.STERILE_SERVICES, Stage.CLEANING),
    Stage.REPAIR: _row("held", Doer.STERILE_SERVICES, Stage.CLEANING),
    Stage.WITH_SUPPLIER: _row("held", Doer.COORDINATOR, Stage.CLEANING),
}

HELD_STAGES = tuple(stage for stage, row in STAGES.items() if row.readiness == "held")
ON_SITE_STAGES = tuple(stage for stage, row in STAGES.items() if row.readiness != "held")


_STANDS = {
    Stage.CLEANING: "at cleaning",
    Stage.ASSEMBLY: "at inspection and assembly",
    Stage.STERILISING: "at sterilising",
    Stage.STERILE_STORE: "in the sterile store",
    Stage.QUARANTINE: "in quarantine",
    Stage.REPAIR: "in repair",
    Stage.WITH_SUPPLIER: "with its supplier",
}


def stands(stage: str) -> str:
    """Where a tray is, as a sentence says it after "is"; what is no stage stays as it is."""
    return _STANDS.get(Stage(stage), stage) if stage in STAGES else stage


def may_follow(before: str, after: Stage) -> bool:
    """Whether a tray in `before` may be said to be in `after` next; it may stay where it is, with
    other times, and a new tray ("") enters anywhere."""
    return before in ("", after) or after in STAGES[Stage(before)].next


def lies_at_its_place(stage: str, case_ref: str = "") -> bool:
    """Whether the place on record is where the tray is: in the store, or held where it was.  On
    its way through the cycle it is at its stage, and held on its way to a case it is with that
    case; the place is then the one that it had before."""
    return stage == Stage.STERILE_STORE or (stage in HELD_STAGES and not case_ref)
