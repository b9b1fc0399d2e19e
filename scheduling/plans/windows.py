"""Windows: how many rungs on either side of the planned one a surgeon wants to have ready.

A technique's contingency rules carry ladders round what is planned (`at stem.size, 1 below,
2 above`).  A window puts a surgeon's own figures in their place, for one plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from scheduling.coverage.values import FromPlan, Ladder, Need, Rule, Selection, Technique

Steps = tuple[int, int]
"""Below, above."""

MOST_STEPS = 9


def ladders_of(technique: Technique) -> dict[str, Steps]:
    """`stem.size` → what the technique itself says.  The first rule speaks for its like."""
    found: dict[str, Steps] = {}
    for rule in technique.rules:
        for key, selection in rule.select.items():
            if _is_window(rule, selection):
                assert isinstance(selection, Ladder)
                found.setdefault(f"{rule.role}.{key}", (selection.below, selection.above))
    return found


def with_windows(technique: Technique, windows: Mapping[str, Steps]) -> Technique:
    """The technique with the windows in it, under a code of its own that says them.

    The technique itself where they change nothing.  A window on a ladder that the technique does
    not have (any more) says nothing.
    """
    own = ladders_of(technique)
    changed = {key: steps for key, steps in windows.items() if key in own and own[key] != steps}
    if not changed:
        return technique
    said = "; ".join(
        f"{key} {below} below {above} above" for key, (below, above) in sorted(changed.items())
    )
    return replace(
        technique,
        code=f"{technique.code} [{said}]",
        name=technique.name or technique.code,
        rules=tuple(_with(rule, changed) for rule in technique.rules),
    )


def _with(rule: Rule, windows: Mapping[str, Steps]) -> Rule:
    select = {
        key: replace(selection, below=steps[0], above=steps[1])
        if _is_window(rule, selection)
        and isinstance(selection, Ladder)
        and (steps := windows.get(f"{rule.role}.{key}")) is not None
        else selection
        for key, selection in rule.select.items()
    }
    return replace(rule, select=select)


def _is_window(rule: Rule, selection: Selection) -> bool:
    return (
        rule.need is Need.CONTINGENCY
        and isinstance(selection, Ladder)
        and isinstance(selection.start, FromPlan)
        and selection.start == selection.end
        and "." in selection.start.path
    )


def read_windows(data: object, place: str, faults: list[str]) -> dict[str, Steps]:
    """{ladder: [below, above]} as it is kept; adds every fault with its place."""
    if not isinstance(data, Mapping):
        faults.append(f"{place}: a mapping of ladder to [below, above]")
        return {}
    found: dict[str, Steps] = {}
    for key, steps in data.items():
        if not isinstance(key, str) or "." not in key:
            faults.append(f"{place}: “{key}” is no ladder, such as stem.size")
        elif not _are_steps(steps):
            faults.append(f"{place}.{key}: two whole numbers from 0 to {MOST_STEPS}")
        else:
            found[key] = (steps[0], steps[1])
    return found


def _are_steps(steps: object) -> bool:
    return (
        isinstance(steps, list | tuple)
        and len(steps) == 2
        and all(type(step) is int and 0 <= step <= MOST_STEPS for step in steps)
    )


def window_in_words(key: str, steps: Steps) -> str:
    """`stem size: 1 below, 2 above`"""
    role, _, attribute = key.rpartition(".")
    below, above = steps
    return f"{role} {attribute.replace('_', ' ')}: {below} below, {above} above"
