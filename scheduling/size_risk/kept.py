"""What the house has on record about sizes, read from the database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from deploy.kit.models import Site
from implants.states import UnitState
from scheduling.facts import exactly
from scheduling.models import SizeDifference, SizeUsed
from scheduling.models.house import house_of
from scheduling.size_risk.difference import Difference, Rungs, difference_of
from scheduling.size_risk.ladders import line_of, size_of
from scheduling.size_risk.prior import PRIOR
from scheduling.size_risk.record import Implanted, Line

Whose = tuple[Line, str]
"""A line, and the surgeon of whose cases alone; an empty name: of all."""


@dataclass(frozen=True, slots=True)
class Accepted:
    """The record that a person accepted.  `at` in UTC."""

    record: Mapping[Rungs, int]
    by: str
    at: datetime


def implanted_sizes(site: Site) -> list[Implanted]:
    """Everything implanted of which the plan named a size, oldest first, boxes never received here
    too; what was taken back as a wrong entry is left out.  One query."""
    stands = Q(unit__state=UnitState.IMPLANTED) | Q(outside__isnull=False, outside__void=None)
    rows = SizeUsed.objects.filter(stands, case__site=site)
    found = []
    for row in rows.select_related("used", "case__surgeon"):
        planned, used = exactly(row.planned), exactly(row.used.attributes)
        planned_size, used_size = size_of(planned), size_of(used)
        if planned_size is None or used_size is None:
            continue
        found.append(
            Implanted(
                surgeon=row.case.surgeon.name if row.case.surgeon else "",
                # A plan that names no system means the one that was used.
                planned_line=line_of(row.role, {"system": used.get("system", ""), **planned}),
                planned=planned_size,
                used_line=line_of(row.used.role, used),
                used=used_size,
            )
        )
    return found


def accepted_differences(site: Site) -> dict[Whose, Accepted]:
    """The newest of each line and surgeon.  One query."""
    rows = SizeDifference.objects.filter(site=site).select_related("by", "surgeon")
    return {
        (Line(row.role, row.system), row.surgeon.name if row.surgeon else ""): Accepted(
            {int(rungs): number for rungs, number in row.record.items()},
            row.by.get_full_name() or row.by.get_username(),
            row.at,
        )
        for row in rows
    }


def least_cases(site: Site) -> int:
    """How many cases of its own the house asks for before a figure is shown.  One query."""
    return house_of(site).size_risk_least_cases


def in_force(
    accepted: Mapping[Whose, Accepted], line: Line, surgeon: str, least: int
) -> Difference:
    """What to reckon with for a case: the surgeon's own record on the line, if it was accepted and
    rests on enough cases, else the line's, else the assumption."""
    own, of_line = accepted.get((line, surgeon)), accepted.get((line, ""))
    return difference_of(
        of_line.record if of_line else {},
        prior=PRIOR,
        enough=least,
        own=own.record if own and surgeon else None,
    )
