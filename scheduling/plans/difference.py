"""What one version of a plan changes against another, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduling.coverage.values import Component
from scheduling.plans.asked import Stated
from scheduling.plans.windows import Steps, window_in_words
from scheduling.words import (
    attribute_in_words,
    component_in_words,
    fact_in_words,
    label_in_words,
)


@dataclass(frozen=True, slots=True)
class PlanSaid:
    """One version, as values.  `technique`: its name."""

    technique: str
    components: Mapping[str, Component] = field(default_factory=dict)
    facts: Mapping[str, Stated] = field(default_factory=dict)
    windows: Mapping[str, Steps] = field(default_factory=dict)
    note: str = ""


def plan_difference(old: PlanSaid, new: PlanSaid) -> tuple[str, ...]:
    """Sentences; none where the versions say the same.

    >>> plan_difference(PlanSaid("T", facts={"approach": "lateral"}), PlanSaid("T"))
    ('Approach: not stated any more (was lateral).',)
    """
    said = []
    if old.technique != new.technique:
        said.append(f"Technique: {new.technique} instead of {old.technique}.")
    for role in dict.fromkeys([*old.components, *new.components]):
        said += _component(role, old.components.get(role), new.components.get(role))
    for name in dict.fromkeys([*old.facts, *new.facts]):
        said += _fact(label_in_words(name), old.facts.get(name), new.facts.get(name))
    for key in sorted({*old.windows, *new.windows}):
        if old.windows.get(key) != new.windows.get(key):
            said.append(_window(key, new.windows.get(key)))
    if old.note != new.note:
        said.append("The notes were changed." if new.note else "The notes were taken out.")
    return tuple(text[:1].upper() + text[1:] for text in said)


def _component(role: str, old: Component | None, new: Component | None) -> list[str]:
    if old == new:
        return []
    if old is None and new is not None:
        return [f"{role} added: {component_in_words(role, new)}."]
    if old is not None and new is None:
        return [f"{role} taken out: it was {component_in_words(role, old)}."]
    assert old is not None
    assert new is not None
    parts = []
    for key in dict.fromkeys([*old.attributes, *new.attributes]):
        before, after = old.attributes.get(key), new.attributes.get(key)
        if before == after:
            continue
        was = attribute_in_words(key, before) if before is not None else ""
        now = attribute_in_words(key, after) if after is not None else f"no {key.replace('_', ' ')}"
        parts.append(f"{now} instead of {was}" if was else now)
    if old.quantity != new.quantity:
        parts.append(f"{new.quantity} pieces instead of {old.quantity}")
    return [f"{role}: {', '.join(parts)}."]


def _fact(label: str, old: Stated | None, new: Stated | None) -> list[str]:
    if old == new and type(old) is type(new):
        return []
    if new is None:
        assert old is not None
        return [f"{label}: not stated any more (was {fact_in_words(old)})."]
    if old is None:
        return [f"{label}: {fact_in_words(new)}, not stated before."]
    return [f"{label}: {fact_in_words(new)} instead of {fact_in_words(old)}."]


def _window(key: str, steps: Steps | None) -> str:
    if steps is None:
        role, _, attribute = key.rpartition(".")
        return f"Window, {role} {attribute.replace('_', ' ')}: as the technique says again."
    return f"Window, {window_in_words(key, steps)}."
