"""Which cases lean on which box that is still to come.  Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from scheduling.coverage.report import Report
from scheduling.coverage.values import Need


@dataclass(frozen=True, slots=True)
class Leaning:
    """A case that counts on a box (`unit`), or that lacks the item (`unit` empty): it would be
    served if what is late were here."""

    case: str
    need: Need
    needed_by: datetime
    unit: str = ""


def leaning_on_units(report: Report) -> Mapping[str, Leaning]:
    """Box → the case that it is meant for."""
    return {
        code: Leaning(case.case, line.need, case.needed_by, code)
        for case in report.cases
        for line in case.lines
        for code in line.units
    }


def lacking(report: Report) -> Mapping[str, tuple[Leaning, ...]]:
    """Item → the cases that are short of it, in time order."""
    found: dict[str, list[Leaning]] = defaultdict(list)
    for case in report.cases:
        for line in case.lines:
            if line.short:
                found[line.item].append(Leaning(case.case, line.need, case.needed_by))
    return {item: tuple(cases) for item, cases in found.items()}
