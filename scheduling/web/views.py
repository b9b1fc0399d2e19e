"""The pages of the people around a case.  Thin: fetch behind the door, assemble, render."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import SIGNED_IN, requires
from deploy.kit.models import Site
from scheduling.access import case_for, cases_for, is_theirs, may_book, may_plan
from scheduling.coverage.report import Verdict
from scheduling.decided import OPEN, basis_now, people_on, standings
from scheduling.models import Case, CaseStatus
from scheduling.models.house import house_of
from scheduling.operations.looks import keep_look
from scheduling.operations.notices import name_of
from scheduling.queries import Coverage, coverage_now
from scheduling.ways_out_now import ways_out_of
from scheduling.web.case_lines import by_day, case_lines, tally
from scheduling.web.case_page import case_page
from scheduling.web.day_page import theatre_days, trays_on
from scheduling.web.homes import home_of
from scheduling.web.requests import PersonsRequest

OPEN_CASES = (CaseStatus.BOOKED, CaseStatus.STARTED)


@requires(*SIGNED_IN)
@require_safe
def home(request: PersonsRequest) -> HttpResponse:
    """To the first page of the person's role."""
    return redirect(home_of(request.user))


@requires("scheduling.read_cases")
@require_safe
def cases(request: PersonsRequest) -> HttpResponse:
    return case_list(request, "All booked cases", cases_for(request.person))


def case_list(request: PersonsRequest, title: str, found: Any) -> HttpResponse:
    coverage = coverage_now(request.person.site)
    lines = case_lines(found.filter(status__in=OPEN_CASES), coverage.scenario, coverage.report)
    page = {"title": title, "days": by_day(lines), "tally": tally(lines), "number": len(lines)}
    return answer(request, "cases", coverage, page)


@requires("scheduling.read_cases", "scheduling.read_own_cases")
@require_safe
def case(request: PersonsRequest, pk: int) -> HttpResponse:
    row = case_for(request.person, pk)
    plan = row.plans.select_related("made_by").last()
    coverage = coverage_now(row.site)
    found = {of_case.case: of_case for of_case in coverage.report.cases}
    (line,) = case_lines([row], coverage.scenario, coverage.report)
    basis = basis_now(coverage, row, plan.number if plan else 0)
    if basis is not None and may_plan(request.person, row):
        keep_look(case=row, saw=basis, by=request.person, now=coverage.report.now)
    people = people_on([row]).get(row.pk, [])
    page = {
        "case": row,
        "line": line,
        "standing": standings([row], {row.pk: basis} if basis else {}).get(row.pk, OPEN),
        "on_it": [name_of(user) for user in people],
        "is_on_it": request.person.user in people,
        "may_decide": row.status == CaseStatus.BOOKED
        and plan is not None
        and request.user.has_perm("scheduling.write_own_plan")
        and is_theirs(request.person, row),
        "plan": plan,
        "may_book": row.status == CaseStatus.BOOKED and may_book(request.person, row),
        "may_plan": row.status in OPEN_CASES and may_plan(request.person, row),
        "plan_made": row.site.local(plan.made_at) if plan else None,
        "page": case_page(
            coverage.scenario,
            coverage.report,
            row.ref,
            short_dated_days=short_dated_days(row.site),
        )
        if row.ref in found
        else None,
        "ways_out": ways_out_of(coverage, row.ref)
        if row.ref in found and found[row.ref].verdict is not Verdict.COVERED
        else None,
    }
    return answer(request, "case", coverage, page)


@requires("scheduling.read_cases")
@require_safe
def today(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    return redirect("day", site.local(site.now()).date())


@requires("scheduling.read_cases")
@require_safe
def day(request: PersonsRequest, day: date) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    found = cases_for(request.person).exclude(status=CaseStatus.CANCELLED)
    # By local day: two days around it in UTC hold it in every zone.
    near = found.filter(start__date__range=(day - timedelta(days=1), day + timedelta(days=1)))
    lines = case_lines(
        [row for row in near if site.local(row.start).date() == day],
        coverage.scenario,
        coverage.report,
    )
    page = {
        "day": day,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "is_today": day == site.local(coverage.report.now).date(),
        "theatres": theatre_days(lines),
        "tally": tally(lines),
        "picture": trays_on(coverage.scenario, coverage.report, day),
    }
    return answer(request, "day", coverage, page)


def answer(
    request: PersonsRequest, template: str, coverage: Coverage, page: dict[str, Any]
) -> HttpResponse:
    """Render with the moment that the coverage was worked out for; no browser keeps it."""
    as_of = request.person.site.local(coverage.report.now)
    response = render(request, f"scheduling/{template}.html", {"as_of": as_of, **page})
    add_never_cache_headers(response)
    return response


def case_pks(site: Site) -> dict[str, int]:
    """Reference → key of the cases that coverage knows.  One query."""
    open_cases = Case.objects.filter(site=site, status__in=OPEN_CASES)
    return dict(open_cases.values_list("ref", "pk"))


def short_dated_days(site: Site) -> int:
    """The house's setting.  One query."""
    return house_of(site).short_dated_days
