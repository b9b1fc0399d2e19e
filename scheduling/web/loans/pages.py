"""The pages of loans: all that are open, and one with what leans on it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from implants.models import Supplier
from scheduling.loans.access import loan_for, loans_for
from scheduling.loans.latest import Latest, latest_arrivals
from scheduling.loans.progress import Progress, arrived_at, progress
from scheduling.loans.states import BEFORE_ARRIVAL, OPEN, TO_COME, LoanState
from scheduling.loans.words import trays_and_boxes
from scheduling.models import LoanTray
from scheduling.models.house import loan_hours_ahead
from scheduling.queries import Coverage, coverage_now
from scheduling.web.loans.papers import TITLES, paper_of
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import answer, case_pks
from trays.access import configurations_for
from trays.models import Tray, settings_of
from trays.models.tray import Ownership
from trays.stages import Stage
from trays.weight import weight_warning

LATELY = 20
"""How many of the loans that are over are listed."""


@requires("scheduling.read_cases")
@require_safe
def loans(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    pks = case_pks(site)
    hours = loan_hours_ahead(site)
    rows = [
        {
            **_head(one, coverage.report.now),
            "cases": case_rows(one, coverage, pks, hours, one.loan.expected_at),
        }
        for one in progress(loans_for(request.person).filter(state__in=OPEN))
    ]
    never = datetime.max.replace(tzinfo=site.zone)
    page: dict[str, Any] = {
        "loans": sorted(rows, key=lambda row: (not row["late"], row["due"] or never)),
        "over": loans_for(request.person).exclude(state__in=OPEN)[:LATELY],
        "hours_ahead": hours,
        "may_borrow": request.user.has_perm("scheduling.borrow"),
    }
    if page["may_borrow"]:
        page |= {
            "suppliers": Supplier.objects.filter(site=site),
            "configurations": configurations_for(request.person),
            "known": trays_with_lenders(site.pk),
        }
    return answer(request, "loans/loans", coverage, page)


@requires("scheduling.read_cases")
@require_safe
def loan(request: PersonsRequest, code: str) -> HttpResponse:
    there = loan_for(request.person, code)
    site = there.site
    (found,) = progress(loans_for(request.person).filter(pk=there.pk))
    coverage = coverage_now(site)
    came = arrived_at(there)
    hours = loan_hours_ahead(site)
    limit = settings_of(site).weight_limit_grams
    comes = came if found.is_here else there.expected_at
    page = {
        **_head(found, coverage.report.now),
        "arrived": site.local(came) if came else None,
        "cases": case_rows(found, coverage, case_pks(site), hours, comes),
        "hours_ahead": hours,
        "trays": [tray_row(line, limit) for line in found.trays],
        "history": [
            (site.local(entry.at), entry)
            for entry in there.movements.select_related("move", "by").order_by("-seq")
        ],
        "is_draft": there.state == LoanState.DRAFT,
        "is_to_come": there.state in TO_COME,
        "is_before": there.state in BEFORE_ARRIVAL,
        "is_arrived": there.state == LoanState.ARRIVED,
        "is_checked_in": there.state == LoanState.CHECKED_IN,
        "is_open": there.state in OPEN,
        "paper": TITLES[paper_of(there)],
        "configurations": configurations_for(request.person),
        "may_borrow": request.user.has_perm("scheduling.borrow"),
        "may_check_in": request.user.has_perm("scheduling.check_in_loan_trays"),
    }
    return answer(request, "loans/loan", coverage, page)


def _head(found: Progress, now: datetime) -> dict[str, Any]:
    loan = found.loan
    return {
        "found": found,
        "loan": loan,
        "words": trays_and_boxes(len(found.trays), found.asked),
        "due": loan.site.local(loan.expected_at) if loan.expected_at else None,
        "late": found.is_late(now),
        "overdue_back": found.is_overdue_back(now),
    }


def case_rows(
    found: Progress,
    coverage: Coverage,
    pks: dict[str, int],
    hours: int,
    comes: datetime | None,
) -> list[dict[str, Any]]:
    """The cases that lean on it, each with the latest moment at which it may arrive."""
    latest = latest_arrivals(coverage.scenario, coverage.report, found.brings(), hours)
    local = found.loan.site.local

    def row(one: Latest) -> dict[str, Any]:
        return {
            "ref": one.case,
            "pk": pks.get(one.case),
            "needed_by": local(one.needed_by),
            "arrival": local(one.arrival) if one.arrival else None,
            "too_late": found.is_to_come
            and (one.arrival is None or (comes is not None and comes > one.arrival)),
            "flagged": one.flagged(comes, coverage.report.now),
            "for_what": one.for_what,
        }

    return [row(one) for one in latest]


def tray_row(line: LoanTray, limit_grams: int) -> dict[str, Any]:
    return {
        "line": line,
        "tray": line.tray,
        "kg": f"{line.weight_grams / 1000:.2f}" if line.weight_grams else "",
        "too_heavy": weight_warning(line.weight_grams, limit_grams),
        "missing": list(line.tray.missing_lines.all()),
    }


def trays_with_lenders(site: int) -> list[Tray]:
    """Trays that were lent before and may be asked for again.  One query."""
    over = (LoanState.GONE_BACK, LoanState.CALLED_OFF)
    on_one = LoanTray.objects.exclude(loan__state__in=over).values("tray")
    return list(
        Tray.objects.filter(site=site, owner=Ownership.LOAN, stage=Stage.WITH_SUPPLIER)
        .exclude(pk__in=on_one)
        .select_related("configuration")
    )
