"""A technique's rule against the catalogue: what it selects, for the values its paths have.

Remembered by these values: cases that agree in what a rule looks at get the same of it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from operator import itemgetter
from types import MappingProxyType
from typing import NamedTuple

from scheduling.coverage.catalogue import (
    Candidates,
    Catalogue,
    Rungs,
    Stated,
    is_number,
    same,
)
from scheduling.coverage.report import Reason
from scheduling.coverage.values import Condition, FromPlan, Implant, Ladder, OneOf, Rule


class Unknown(Enum):
    """Why a path has no value."""

    NOT_STATED = "not stated"
    FAULTY = "refers to a component with a fault"


ValueAt = Callable[[str], Stated | Unknown]
"""What a plan says at a path."""


class Selected(NamedTuple):
    """What a rule comes to: quantities by reference.  `applies`: its condition holds; `notes`: the
    ladders cut short."""

    applies: bool
    questions: frozenset[str]
    implants: Mapping[str, int] = MappingProxyType({})
    instruments: Mapping[str, int] = MappingProxyType({})
    notes: tuple[Reason, ...] = ()


def holds(when: Condition, value_at: ValueAt, questions: set[str]) -> bool:
    """All paths have one of their values.  Every path is looked at, so that the open questions
    do not depend on the order in which a condition is written."""
    if not when:
        return True
    answers = []
    for path, wanted in when.items():
        value = _asked(path, value_at, questions)
        answers.append(value is not None and any(same(value, w) for w in wanted))
    return all(answers)


def _asked(path: str, value_at: ValueAt, questions: set[str]) -> Stated | None:
    """The value at `path`, or None; an unstated one becomes an open question."""
    value = value_at(path)
    if not isinstance(value, Unknown):
        return value
    if value is Unknown.NOT_STATED:
        questions.add(f"not stated: {path}")
    return None


class CatalogueRule:
    """One rule, and what it selected so far."""

    def __init__(self, rule: Rule, catalogue: Catalogue) -> None:
        self.rule = rule
        self._catalogue = catalogue
        self._refers_to = tuple(dict.fromkeys(_paths_of(rule)))
        looks_at = {*rule.when, *self._refers_to}
        self._looks_at = itemgetter(*looks_at) if looks_at else lambda _: None
        self._selected: dict[object, Selected] = {}

    def selected(self, value_at: ValueAt, told: Mapping[str, object]) -> Selected:
        """What the rule comes to; `told`: what `value_at` says of each path, `told_apart`."""
        key = self._looks_at(told)
        found = self._selected.get(key)
        if found is None:
            found = self._selected[key] = self._select(value_at)
        return found

    def _select(self, value_at: ValueAt) -> Selected:
        questions: set[str] = set()
        if not holds(self.rule.when, value_at, questions):
            return Selected(False, frozenset(questions))
        says: dict[str, Stated] = {}
        for path in self._refers_to:
            value = _asked(path, value_at, questions)
            if value is not None:
                says[path] = value
        if len(says) < len(self._refers_to):
            return Selected(True, frozenset(questions))
        fixed: dict[str, tuple[Stated, ...]] = {}
        ladders: dict[str, Rungs] = {}
        for key, selection in self.rule.select.items():
            match selection:
                case OneOf(values):
                    fixed[key] = values
                case FromPlan(path):
                    fixed[key] = (says[path],)
                case Ladder(start, end, below, above):
                    start = says[start.path] if isinstance(start, FromPlan) else start
                    end = says[end.path] if isinstance(end, FromPlan) else end
                    ladders[key] = start, end, below, above
        candidates = self._catalogue.candidates(self.rule.role, fixed)
        questions.update(self._not_countable(candidates, ladders))
        items = candidates.on_ladders(ladders)
        notes = list(self._cut_short(candidates, ladders)) if items else []
        quantity = self.rule.quantity
        return Selected(
            True,
            frozenset(questions),
            {item.ref: quantity for item in items if isinstance(item, Implant)},
            {item.ref: quantity for item in items if not isinstance(item, Implant)},
            tuple([note for place, note in enumerate(notes) if note not in notes[:place]]),
        )

    def _not_countable(self, candidates: Candidates, ladders: Mapping[str, Rungs]) -> Iterator[str]:
        """A ladder counts numbers: where a text stands among them, or for an end, what the case
        needs is not known."""
        for key, (*ends, _, _) in ladders.items():
            are_numbers = all(end is None or is_number(end) for end in ends)
            if not are_numbers or candidates.ladder(key).holds_text:
                yield f"text on a ladder: {self.rule.role}.{key}"

    def _cut_short(self, candidates: Candidates, ladders: Mapping[str, Rungs]) -> Iterator[Reason]:
        """The ladders of the rule that end before the rule's steps do."""
        for key, (start, end, below, above) in ladders.items():
            if not all(bound is None or is_number(bound) for bound in (start, end)):
                continue
            rungs = candidates.ladder(key).rungs
            if below and start is not None:
                made = bisect_left(rungs, start)
                if made < below:
                    yield self._reason(key, "below", below, made)
            if above and end is not None:
                made = len(rungs) - bisect_right(rungs, end)
                if made < above:
                    yield self._reason(key, "above", above, made)

    def _reason(self, key: str, direction: str, wanted: int, made: int) -> Reason:
        return Reason(
            "ladder cut short",
            {
                "role": self.rule.role,
                "attribute": key,
                "direction": direction,
                "wanted": wanted,
                "made": made,
            },
        )


def _paths_of(rule: Rule) -> Iterator[str]:
    """The paths that the rule's selections refer to."""
    for selection in rule.select.values():
        if isinstance(selection, FromPlan):
            yield selection.path
        elif isinstance(selection, Ladder):
            for bound in (selection.start, selection.end):
                if isinstance(bound, FromPlan):
                    yield bound.path
