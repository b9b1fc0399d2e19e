"""The rows of a technique as the engine's values, and back into the JSON that the rows hold."""

from __future__ import annotations

from typing import Any, TypeVar

from deploy.kit.catalogue import exact
from scheduling.coverage.scenario_read_technique import (
    read_check,
    read_confirmation,
    read_rule,
    read_set,
)
from scheduling.coverage.values import (
    Check,
    Confirmation,
    Rule,
    SetAsked,
    Technique,
)
from scheduling.models import Technique as TechniqueRow
from scheduling.models import (
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)

T = TypeVar("T")

SET_FIELDS = ("purpose", "options", "when")
RULE_FIELDS = ("role", "need", "select", "quantity", "when")
CHECK_FIELDS = ("code", "kind", "left", "right", "when")
CONFIRMATION_FIELDS = ("code", "when")


class StoredFaults(ValueError):
    """A row that breaks the format: nothing that our own forms or files can have written."""


def set_of(row: TechniqueSet) -> SetAsked:
    faults: list[str] = []
    return _sound(read_set(_fields(row, SET_FIELDS), "set", faults, None), faults)


def rule_of(row: TechniqueRule) -> Rule:
    faults: list[str] = []
    return _sound(read_rule(_fields(row, RULE_FIELDS), "rule", faults), faults)


def check_of(row: TechniqueCheck) -> Check:
    faults: list[str] = []
    return _sound(read_check(_fields(row, CHECK_FIELDS), "check", faults), faults)


def confirmation_of(row: TechniqueConfirmation) -> Confirmation:
    faults: list[str] = []
    return _sound(
        read_confirmation(_fields(row, CONFIRMATION_FIELDS), "confirmation", faults), faults
    )


def technique_of(technique: TechniqueRow) -> Technique:
    """The whole technique.  Four queries, none where its parts were prefetched."""
    return Technique(
        code=technique.code,
        name=technique.name,
        sets=tuple(map(set_of, technique.sets.all())),
        rules=tuple(map(rule_of, technique.rules.all())),
        checks=tuple(map(check_of, technique.checks.all())),
        confirmations=tuple(map(confirmation_of, technique.confirmations.all())),
    )


def _fields(row: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: _exact(getattr(row, name)) for name in names}


def _exact(value: Any) -> Any:
    """JSON as the database gives it, with its floats made exact decimals."""
    if isinstance(value, dict):
        return {key: _exact(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_exact(one) for one in value]
    return exact(value)


def _sound(value: T, faults: list[str]) -> T:
    if faults:
        raise StoredFaults("; ".join(faults))
    return value
