from __future__ import annotations

from typing import TypeVar

from deploy.kit.models import Site
from scheduling.coverage.scenario_write import (
    Json,
    check_json,
    confirmation_json,
    rule_json,
    set_json,
)
from scheduling.coverage.values import Scenario
from scheduling.models import (
    Technique,
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)
from scheduling.models.technique import TechniquePart

Part = TypeVar("Part", bound=TechniquePart)


def load_techniques(site: Site, scenario: Scenario) -> dict[str, Technique]:
    """The saved techniques by code; their parts keep the format's own JSON."""
    rows = Technique.objects.bulk_create(
        Technique(site=site, code=one.code, name=one.name) for one in scenario.techniques.values()
    )
    by_code = {row.code: row for row in rows}
    sets: list[TechniqueSet] = []
    rules: list[TechniqueRule] = []
    checks: list[TechniqueCheck] = []
    confirmations: list[TechniqueConfirmation] = []
    for one in scenario.techniques.values():
        row = by_code[one.code]
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
    return by_code


def _parts(model: type[Part], technique: Technique, parts: list[Json]) -> list[Part]:
    """The format's keys are the columns' names."""
    return [
        model(technique=technique, position=position, **part) for position, part in enumerate(parts)
    ]
