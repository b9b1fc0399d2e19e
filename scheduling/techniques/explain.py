"""A whole technique in words, as a coordinator checks it against the surgeon's own sheet."""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.coverage.values import Condition, Rule, Technique
from scheduling.techniques.words import said_choices, say_condition, say_options, say_terms


def explain(technique: Technique) -> str:
    """One line a part, grouped; ends with a new line.

    >>> print(explain(Technique("T", "Revision stem")), end="")
    T  Revision stem
    """
    return "\n".join(_lines(technique)) + "\n"


def _lines(technique: Technique) -> Iterator[str]:
    yield f"{technique.code}  {technique.name}".strip()
    for title, lines in (
        ("Sets of trays", _sets(technique)),
        ("Needs", [_rule(rule) for rule in technique.rules]),
        ("Checks", _checks(technique)),
        ("Confirmations", [one.code + _when(one.when) for one in technique.confirmations]),
    ):
        if lines:
            yield ""
            yield title
            yield from (f"  {line}" for line in lines)


def _sets(technique: Technique) -> list[str]:
    return [
        f"{asked.purpose}: {'; or else '.join(say_options(asked.options).splitlines())}"
        + _when(asked.when)
        for asked in technique.sets
    ]


def _rule(rule: Rule) -> str:
    selected = "; ".join(f"{label} {choice}" for label, choice in said_choices(rule.select))
    return (
        f"{rule.need.value}: {rule.quantity} × {rule.role}, "
        f"{selected or 'every one in the catalogue'}{_when(rule.when)}"
    )


def _checks(technique: Technique) -> list[str]:
    signs = {"equal": "equals", "at least": "is at least"}
    return [
        f"“{check.code}” unless {say_terms(check.left)} {signs[check.kind]} "
        f"{say_terms(check.right)}{_when(check.when)}"
        for check in technique.checks
    ]


def _when(when: Condition) -> str:
    return ", when " + " and ".join(say_condition(when).splitlines()) if when else ""
