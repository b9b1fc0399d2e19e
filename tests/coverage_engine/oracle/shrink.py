"""The smallest scenario that still shows what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

Entry = dict[str, Any]
Path = tuple[str | int, ...]


def smallest(scenario: Entry, shows_it: Callable[[Entry], bool]) -> Entry:
    """Take away whatever can be taken away, until nothing can.

    `shows_it` says whether a scenario still shows the trouble; it answers no to a scenario that
    is no longer valid.
    """
    smaller = True
    while smaller:
        smaller = False
        for path in list(_paths(scenario)):
            tried = deepcopy(scenario)
            if _take_away(tried, path) and shows_it(tried):
                scenario = tried
                smaller = True
    return scenario


def _paths(value: Any, path: Path = ()) -> Iterator[Path]:
    """Every place in the scenario; within a list from its end, so that places stay right."""
    if isinstance(value, dict):
        for key in value:
            yield (*path, key)
            yield from _paths(value[key], (*path, key))
    elif isinstance(value, list):
        for number in reversed(range(len(value))):
            yield (*path, number)
            yield from _paths(value[number], (*path, number))


def _take_away(scenario: Any, path: Path) -> bool:
    try:
        for step in path[:-1]:
            scenario = scenario[step]
        del scenario[path[-1]]
    except (KeyError, IndexError, TypeError):
        return False  # it went with something bigger
    return True
