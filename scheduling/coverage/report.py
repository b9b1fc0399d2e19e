"""The engine's output: for every case a verdict, what it holds, and why not.  Values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import NamedTuple

from deploy.kit.attributes import Value
from scheduling.coverage.values import Need


class Verdict(StrEnum):
    """Worst first, the order in which they are shown."""

    NOT_COVERED = "not covered"
    NOT_KNOWN = "not known"
    AT_RISK = "at risk"
    NO_SPARE = "covered, no spare"
    COVERED = "covered"


class Status(StrEnum):
    """How far a set of trays is there for a case."""

    HELD = "held"
    CONDITIONAL = "conditional"
    SHORT = "short"


ReasonValue = Value | bool | date | datetime | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something is not held: a code and its values.  `reasons.sentence` words it."""

    code: str
    values: Mapping[str, ReasonValue] = field(default_factory=dict)


class Lean(NamedTuple):
    """A shared contingency unit: the unit, and the case whose contingency it is first."""

    unit: str
    case: str


class Line(NamedTuple):
    """One need for one item; `quantity` = held + conditional + shared + short."""

    need: Need
    item: str
    quantity: int
    held: int
    conditional: int = 0
    shared: int = 0
    short: int = 0
    units: tuple[str, ...] = ()
    leans_on: tuple[Lean, ...] = ()
    because: tuple[Reason, ...] = ()

    @property
    def is_held(self) -> bool:
        return self.held == self.quantity


@dataclass(frozen=True, slots=True)
class SetLine:
    """One set the technique asks for; `option` and `trays` are empty when it is short."""

    purpose: str
    status: Status
    option: tuple[str, ...] = ()
    trays: tuple[str, ...] = ()
    because: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class CaseReport:
    """`needed_by`: when the case needs everything; `out`: when it is out of theatre (UTC)."""

    case: str
    verdict: Verdict
    needed_by: datetime
    out: datetime
    faults: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    sets: tuple[SetLine, ...] = ()
    packs: tuple[str, ...] = ()
    lines: tuple[Line, ...] = ()
    notes: tuple[Reason, ...] = ()
    gave_up: bool = False


@dataclass(frozen=True, slots=True)
class Report:
    """The cases in time order, then by reference."""

    now: datetime
    cases: tuple[CaseReport, ...]

    def case(self, ref: str) -> CaseReport:
        """The report of one case; KeyError where there is none."""
        for report in self.cases:
            if report.case == ref:
                return report
        raise KeyError(ref)
