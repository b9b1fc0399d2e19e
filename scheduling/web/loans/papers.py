"""A loan on paper: the request, the list to check it in by, the note it goes back with.

Nothing of any case is on one of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from implants.models import Implant, Unit
from implants.states import HELD, UnitState
from implants.uses import USED
from scheduling.loans.access import loan_for, loans_for
from scheduling.loans.latest import latest_arrivals
from scheduling.loans.progress import Progress, progress, went_back_at
from scheduling.loans.states import BEFORE_ARRIVAL, LoanState
from scheduling.models import Loan
from scheduling.models.house import loan_hours_ahead
from scheduling.queries import coverage_now
from scheduling.web.requests import PersonsRequest

Box = tuple[Implant, Unit]


class Paper(StrEnum):
    REQUEST = "request"
    CHECK_IN = "check_in"
    RETURN = "return"


TITLES = {
    Paper.REQUEST: "Request for a loan",
    Paper.CHECK_IN: "Check-in list",
    Paper.RETURN: "Return note",
}


def paper_of(loan: Loan) -> Paper:
    """The one that its state asks for."""
    if loan.state in (*BEFORE_ARRIVAL, LoanState.CALLED_OFF):
        return Paper.REQUEST
    return Paper.CHECK_IN if loan.state == LoanState.ARRIVED else Paper.RETURN


@requires("scheduling.read_cases")
@require_safe
def paper(request: PersonsRequest, code: str) -> HttpResponse:
    there = loan_for(request.person, code)
    (found,) = progress(loans_for(request.person).filter(pk=there.pk))
    kind = paper_of(there)
    page: dict[str, Any] = {
        "found": found,
        "loan": there,
        "title": TITLES[kind],
        "printed": there.site.local(there.site.now()),
    }
    if kind is Paper.REQUEST:
        page["wanted_by"] = _wanted_by(found)
    elif kind is Paper.RETURN:
        page["trays"] = [line for line in found.trays if line.checked_at]
        page["boxes"] = _going_back(found)
        page["is_packed"] = there.state == LoanState.CHECKED_IN
        went = went_back_at(there)
        page["went"] = went and there.site.local(went)
    response = render(request, f"scheduling/loans/paper_{kind}.html", page)
    add_never_cache_headers(response)
    return response


def _wanted_by(found: Progress) -> datetime | None:
    """When the first case that leans on it wants it here: as early as the house has set, and where
    that has passed, the latest moment at which it may still arrive.  None: nobody can say."""
    site = found.loan.site
    if not found.is_to_come:
        return None
    coverage = coverage_now(site)
    hours = loan_hours_ahead(site)
    cases = latest_arrivals(coverage.scenario, coverage.report, found.brings(), hours)
    ahead = min((one.ahead for one in cases), default=None)
    if ahead is None or ahead > coverage.report.now:
        return ahead and site.local(ahead)
    last = min((one.arrival for one in cases if one.arrival), default=None)
    return last and site.local(last)


@dataclass(frozen=True, slots=True)
class GoingBack:
    """What was used and what goes back, each box with its catalogue row.
    came = used + back + out."""

    listed: int
    came: int
    used: list[Box]
    back: list[Box]

    @property
    def out(self) -> int:
        """Taken for an operation, and neither used nor back."""
        return self.came - len(self.used) - len(self.back)

    @property
    def missing(self) -> int:
        return self.listed - self.came


def _going_back(found: Progress) -> GoingBack:
    boxes = [(line.line.implant, unit) for line in found.lines for unit in line.boxes]
    boxes.sort(key=lambda box: (box[0].ref, box[1].lot, box[1].serial, box[1].code))
    return GoingBack(
        found.asked,
        found.came,
        used=[box for box in boxes if box[1].state in USED],
        back=[box for box in boxes if _goes_back(box[1])],
    )


def _goes_back(unit: Unit) -> bool:
    goes = (UnitState.ON_THE_SHELF, UnitState.RETURNED, *HELD)
    return unit.state in goes and unit.expected_at is None
