"""A surgeon's booked cases: fourteen days, one line each; and what they were told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import SIGNED_IN, requires
from deploy.kit.models import Person
from scheduling.access import cases_for, is_theirs
from scheduling.confirming import Basis
from scheduling.decided import (
    OPEN,
    Standing,
    basis_now,
    changed_since,
    last_looks,
    people_on,
    standings,
)
from scheduling.models import Case, CaseStatus, Notice
from scheduling.operations.decisions import plan_numbers
from scheduling.operations.notices import mark_seen, name_of
from scheduling.queries import Coverage, coverage_now
from scheduling.web.case_lines import CaseLine, by_day, case_lines
from scheduling.web.requests import PersonsRequest

DAYS = 14
OPEN_CASES = (CaseStatus.BOOKED, CaseStatus.STARTED)


@dataclass(frozen=True, slots=True)
class YourLine:
    """One case.  `changed`: since the person last opened it.  `another`: it is a colleague's."""

    line: CaseLine
    standing: Standing
    on_it: tuple[str, ...]
    changed: bool
    another: bool


@requires("scheduling.read_own_cases")
@require_safe
def your_cases(request: PersonsRequest) -> HttpResponse:
    """`?all` shows what is booked beyond fourteen days too."""
    site = request.person.site
    coverage = coverage_now(site)
    found = list(cases_for(request.person).filter(status__in=OPEN_CASES))
    until = site.local(coverage.report.now).date() + timedelta(days=DAYS)
    near = [case for case in found if site.local(case.start).date() < until]
    shown = found if "all" in request.GET else near
    lines = your_lines(request.person, shown, coverage)
    own = {line.line.pk: line for line in lines}
    page: dict[str, Any] = {
        "title": "Your booked cases",
        "days": [
            (day.day, [own[line.pk] for line in day.lines])
            for day in by_day([line.line for line in lines])
        ],
        "number": len(lines),
        "later": len(found) - len(shown),
        "notices": open_notices(request.person),
        "as_of": site.local(coverage.report.now),
    }
    response = render(request, "scheduling/planning/your_cases.html", page)
    add_never_cache_headers(response)
    return response


def your_lines(person: Person, cases: list[Case], coverage: Coverage) -> list[YourLine]:
    """4 queries, however many cases."""
    plans = plan_numbers(person.site)
    now: dict[int, Basis] = {
        case.pk: basis
        for case in cases
        if (basis := basis_now(coverage, case, plans.get(case.pk, 0))) is not None
    }
    decided, people = standings(cases, now), people_on(cases)
    own = {case.pk for case in cases if is_theirs(person, case)}
    changed = changed_since(last_looks(person.user.pk, cases), now)
    return [
        YourLine(
            line,
            decided.get(line.pk, OPEN),
            tuple(map(name_of, people.get(line.pk, ()))),
            line.pk in changed,
            line.pk not in own,
        )
        for line in case_lines(cases, coverage.scenario, coverage.report)
    ]


def open_notices(person: Person) -> list[tuple[Notice, Any]]:
    """What the person was told and has not taken off, with the local time.  One query."""
    found = Notice.objects.filter(to=person.user, seen_at=None).select_related("case")
    return [(one, person.site.local(one.at)) for one in found]


@requires(*SIGNED_IN)
@require_safe
def notices(request: PersonsRequest) -> HttpResponse:
    page = {"notices": open_notices(request.person)}
    return render(request, "scheduling/planning/notices.html", page)


@requires(*SIGNED_IN)
@require_POST
def seen(request: PersonsRequest) -> HttpResponse:
    """Take notices off the own list, and back to where they were read."""
    keys = [int(key) for key in request.POST.getlist("notice") if key.isascii() and key.isdigit()]
    mark_seen(notices=keys, by=request.person, now=request.person.site.now())
    return redirect("your_cases" if request.POST.get("back") == "your_cases" else "notices")
