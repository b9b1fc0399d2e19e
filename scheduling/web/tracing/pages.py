"""Trace: one field for whatever is known, and the cases that it leads to; and back from a case."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from scheduling.access import case_for, cases_for
from scheduling.tracing.case_history import case_history
from scheduling.tracing.trace import MOST, trace
from scheduling.web.requests import PersonsRequest


@requires("scheduling.read_cases")
@require_safe
def trace_page(request: PersonsRequest) -> HttpResponse:
    """`?text=`: a LOT, serial, box, label, tray, load; a case's reference leads to its history."""
    text = request.GET.get("text", "")[:400]
    site = request.person.site
    found = trace(site, text) if text.strip() else None
    if found is not None and found.is_empty:
        case = cases_for(request.person).filter(ref__iexact=text.strip()).first()
        if case is not None:
            return redirect("case_history", case.pk)
    page = {"text": text, "found": found, "most": MOST, "as_of": site.local(site.now())}
    response = render(request, "scheduling/tracing/trace.html", page)
    add_never_cache_headers(response)
    return response


@requires("scheduling.read_cases", "scheduling.read_own_cases")
@require_safe
def history(request: PersonsRequest, pk: int) -> HttpResponse:
    case = case_for(request.person, pk)
    page = {
        "case": case,
        "events": case_history(case),
        "as_of": case.site.local(case.site.now()),
    }
    response = render(request, "scheduling/tracing/case_history.html", page)
    add_never_cache_headers(response)
    return response
