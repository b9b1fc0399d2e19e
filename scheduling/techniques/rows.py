"""The engine's techniques as rows: their parts keep the scenario format's own JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from scheduling.coverage import values
from scheduling.coverage.scenario_write import (
    Json,
    check_json,
    confirmation_json,
    rule_json,
    set_json,
)
from scheduling.models import (
    Technique,
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)
from scheduling.models.technique import TechniquePart

Part = TypeVar("Part", bound=TechniquePart)


def add_parts(techniques: Iterable[tuple[Technique, values.Technique]]) -> None:
    """The parts of techniques that have none yet.  Four queries, however many there are."""
    sets: list[TechniqueSet] = []
    rules: list[TechniqueRule] = []
    checks: list[TechniqueCheck] = []
    confirmations: list[TechniqueConfirmation] = []
    for row, one in techniques:
        sets += _parts(TechniqueSet, row, [set_json(part) for part in one.sets])
        rules += _parts(TechniqueRule, row, [rule_json(part) for part in one.rules])
        checks += _parts(TechniqueCheck, row, [check_json(part) for part in one.checks])
        confirmations += _parts(
            TechniqueConfirmation, row, [confirmation_json(part) for part in one.confirmations]
        )
    TechniqueSet.objects.bulk_create(sets)
    TechniqueRule.objects.bulk_create(rules)
    TechniqueCheck.objects.bulk_create(checks)
    TechniqueConfirmation.objects.bulk_create(confirmations)


def _parts(model: type[Part], technique: Technique, parts: list[Json]) -> list[Part]:
    """The format's keys are the columns' names."""
    return [
        model(technique=technique, position=position, **part) for position, part in enumerate(parts)
    ]
