"""The booked cases as a private calendar: verdict in the title, nothing about the patient."""

from __future__ import annotations

import logging
import re

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_safe

from deploy.kit.doors import open_to_all, requires
from deploy.kit.models import Person
from scheduling.access import cases_for
from scheduling.calendar_file import TYPE, Event, calendar
from scheduling.coverage.report import Verdict
from scheduling.models import CalendarFeed, Case, CaseStatus
from scheduling.operations.calendar import end_calendar, person_of_calendar, renew_calendar
from scheduling.queries import coverage_now
from scheduling.web.case_lines import CaseLine, case_lines
from scheduling.web.requests import PersonsRequest

LOG = logging.getLogger(__name__)
COULD_NOT = "The cover check could not be worked out. Look into the program."


@requires("scheduling.read_own_cases")
@require_http_methods(["GET", "HEAD", "POST"])
def address(request: PersonsRequest) -> HttpResponse:
    """GET: whether there is an address.  POST: a new one, shown this once; or none any more."""
    site = request.person.site
    shown = ""
    if request.method == "POST" and request.POST.get("act") == "end":
        end_calendar(by=request.person)
    elif request.method == "POST":
        token = renew_calendar(by=request.person, now=site.now())
        shown = site.address + reverse("calendar_feed", args=[token])
    feed = CalendarFeed.objects.filter(user=request.person.user).first()
    page = {
        "shown": shown,
        "link": _subscribes(shown),
        "since": site.local(feed.made_at) if feed else None,
    }
    response = render(request, "scheduling/planning/calendar.html", page)
    add_never_cache_headers(response)
    return response


def _subscribes(shown: str) -> str:
    """The address as a calendar takes it up at a tap, on a phone too."""
    return re.sub("^https?", "webcal", shown)


@open_to_all
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Behind the private address.  Http404 for any other."""
    person = person_of_calendar(token)
    if person is None or not person.user.has_perm("scheduling.read_own_cases"):
        raise Http404("no such calendar")
    body = calendar("Booked cases", events_of(person), now=person.site.now())
    response = HttpResponse(body, content_type=TYPE)
    add_never_cache_headers(response)
    return response


def events_of(person: Person) -> list[Event]:
    """One event a case.  Where the cover check fails, each is *not known*: a calendar that went on
    showing what it was told last would be believed."""
    cases = list(cases_for(person).filter(status__in=[CaseStatus.BOOKED, CaseStatus.STARTED]))
    try:
        coverage = coverage_now(person.site)
        lines = {line.pk: line for line in case_lines(cases, coverage.scenario, coverage.report)}
    except Exception:
        LOG.exception("the cover check failed for a calendar")
        lines = {}
    return [_event(case, lines.get(case.pk)) for case in cases]


def _event(case: Case, line: CaseLine | None) -> Event:
    verdict = (line.verdict if line else None) or Verdict.NOT_KNOWN
    about = [case.ref, case.side.upper(), line.procedure if line else ""]
    site = case.site
    as_of = f"As of {site.local(site.now()):%H:%M, %d %b}."
    return Event(
        uid=f"case-{case.pk}@{site.code}.muster",
        start=case.start,
        end=case.end,
        title=f"{str(verdict).capitalize()} · {' '.join(part for part in about if part)}",
        place=case.theatre.code if case.theatre else "",
        text="\n".join(part for part in ((line.worst_gap if line else COULD_NOT), as_of) if part),
        url=site.address + reverse("case", args=[case.pk]),
    )
