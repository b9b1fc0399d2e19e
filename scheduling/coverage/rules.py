"""A technique's rule against the catalogue: what it selects, for the values its paths have.

Remembered by these values: cases that agree in what a rule looks at get the same of it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum

from scheduling.coverage.catalogue import (
    Candidates,
    Catalogue,
    Item,
    Stated,
    is_number,
    same,
    told_apart,
)
from scheduling.coverage.report import Reason
from scheduling.coverage.values import Condition, FromPlan, Implant, Ladder, OneOf, Rule, Selection


class Unknown(Enum):
    """Why a path has no value."""

    NOT_STATED = "not stated"
    FAULTY = "refers to a component with a fault"


ValueAt = Callable[[str], Stated | Unknown]
"""What a plan says at a path."""


@dataclass(frozen=True, slots=True)
class Selected:
    """What a rule comes to.  `applies`: its condition holds; `notes`: the ladders cut short."""

    applies: bool
    questions: frozenset[str]
    implants: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()
    notes: tuple[Reason, ...] = ()


def holds(when: Condition, value_at: ValueAt, questions: set[str]) -> bool:
    """All paths have one of their values.  Every path is looked at, so that the open questions
    do not depend on the order in which a condition is written."""
    answers = []
    for path, wanted in when.items():
        value = _asked(path, value_at, questions)
        answers.append(value is not None and any(same(value, w) for w in wanted))
    return all(answers)


def _asked(path: str, value_at: ValueAt, questions: set[str]) -> Stated | None:
    """The value at `path`, or None; an unstated one becomes an open question."""
    value = value_at(path)
    if value is Unknown.NOT_STATED:
        questions.add(f"not stated: {path}")
    return None if isinstance(value, Unknown) else value


class CatalogueRule:
    """One rule, and what it selected so far."""

    def __init__(self, rule: Rule, catalogue: Catalogue) -> None:
        self.rule = rule
        self._catalogue = catalogue
        self._paths = tuple({**rule.when, **dict.fromkeys(_paths_of(rule))})
        self._ladders = {
            key: selection
            for key, selection in rule.select.items()
            if isinstance(selection, Ladder)
        }
        self._selected: dict[object, Selected] = {}

    def selected(self, value_at: ValueAt) -> Selected:
        key = tuple([told_apart(value_at(path)) for path in self._paths])
        found = self._selected.get(key)
        if found is None:
            found = self._selected[key] = self._select(value_at)
        return found

    def _select(self, value_at: ValueAt) -> Selected:
        questions: set[str] = set()
        if not holds(self.rule.when, value_at, questions):
            return Selected(False, frozenset(questions))
        resolved = {
            key: _resolved(selection, value_at, questions)
            for key, selection in self.rule.select.items()
        }
        items: list[Item] = []
        notes: list[Reason] = []
        known = {key: values for key, values in resolved.items() if values is not None}
        if len(known) == len(resolved):
            fixed = {
                key: tuple([value for value in values if value is not None])
                for key, values in known.items()
                if key not in self._ladders
            }
            candidates = self._catalogue.candidates(self.rule.role, fixed)
            items = candidates.on_ladders(
                {
                    key: (known[key][0], known[key][1], ladder.below, ladder.above)
                    for key, ladder in self._ladders.items()
                }
            )
            notes = list(self._cut_short(candidates, known)) if items else []
        return Selected(
            True,
            frozenset(questions),
            tuple([item.ref for item in items if isinstance(item, Implant)]),
            tuple([item.ref for item in items if not isinstance(item, Implant)]),
            tuple([note for place, note in enumerate(notes) if note not in notes[:place]]),
        )

    def _cut_short(
        self, candidates: Candidates, resolved: Mapping[str, tuple[Stated | None, ...]]
    ) -> Iterator[Reason]:
        """The ladders of the rule that end before the rule's steps do."""
        for key, selection in self._ladders.items():
            start, end = resolved[key]
            if not all(bound is None or is_number(bound) for bound in (start, end)):
                continue
            rungs = candidates.rungs(key)
            if selection.below and start is not None:
                made = bisect_left(rungs, start)
                if made < selection.below:
                    yield self._reason(key, "below", selection.below, made)
            if selection.above and end is not None:
                made = len(rungs) - bisect_right(rungs, end)
                if made < selection.above:
                    yield self._reason(key, "above", selection.above, made)

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


def _resolved(
    selection: Selection, value_at: ValueAt, questions: set[str]
) -> tuple[Stated | None, ...] | None:
    """A selection's values (a ladder's two ends), or None where one is not known."""
    match selection:
        case OneOf(values):
            return values
        case FromPlan(path):
            value = _asked(path, value_at, questions)
            return None if value is None else (value,)
        case Ladder(start, end):
            ends: list[Stated | None] = []
            unknown = False
            for bound in (start, end):
                if isinstance(bound, FromPlan):
                    ends.append(_asked(bound.path, value_at, questions))
                    unknown = unknown or ends[-1] is None
                else:
                    ends.append(bound)
            return None if unknown else tuple(ends)
