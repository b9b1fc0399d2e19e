"""What an import would do, row by row: new, changed, same or refused."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Outcome(StrEnum):
    REFUSED = "refused"
    NEW = "new"
    CHANGED = "changed"
    SAME = "same"


@dataclass(frozen=True, slots=True)
class Difference:
    """One cell that says something else than the record.  Both in words; empty is empty."""

    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class RowResult:
    """One row of the workbook.  `what`: what it is about, as people call it.  `reasons`: why it is
    refused.  `act`: what writing needs to know; nobody else looks at it."""

    sheet: str
    row: int
    what: str
    outcome: Outcome
    differences: tuple[Difference, ...] = ()
    reasons: tuple[str, ...] = ()
    act: Any = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """All rows in the order of the workbook."""

    rows: tuple[RowResult, ...]
    counts: Mapping[Outcome, int] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "counts", Counter(row.outcome for row in self.rows))

    @property
    def ok(self) -> bool:
        return not self.counts[Outcome.REFUSED]

    @property
    def writes(self) -> int:
        """Rows that writing would bring or change."""
        return self.counts[Outcome.NEW] + self.counts[Outcome.CHANGED]

    def of(self, sheet: str, *outcomes: Outcome) -> Iterable[RowResult]:
        return (row for row in self.rows if row.sheet == sheet and row.outcome in outcomes)

    def reasons(self) -> dict[tuple[str, int], list[str]]:
        """(sheet, row) → why it is refused."""
        return {(row.sheet, row.row): list(row.reasons) for row in self.rows if row.reasons}
