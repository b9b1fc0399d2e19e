"""One count: its boxes by scan, its differences, and its list on paper."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.persons_request import PersonsRequest
from implants.access import count_for
from implants.models import Count, CountLine
from implants.models.count import Found
from implants.operations.counts import close_count, scan_at_count
from implants.web.answers import answer_of, answered
from implants.web.explanations import explanation_of


@requires("implants.count_shelf")
@require_safe
def count(request: PersonsRequest, pk: int) -> HttpResponse:
    """The count as it runs, or what came of it.  At most 7 queries."""
    found = count_for(request.person, pk)
    lines = lines_of(found)
    page = {
        **_page(found, lines),
        "answer": answer_of(request),
        "shows_list": not found.is_blind or not found.is_open,
    }
    return render(request, "implants/count.html", page)


@requires("implants.count_shelf")
@require_POST
def scan(request: PersonsRequest, pk: int) -> HttpResponse:
    found = count_for(request.person, pk)
    here = reverse("count", args=[pk])
    text = request.POST.get("text", "")
    if not text.strip():
        return redirect(here)
    try:
        given = scan_at_count(
            count=found,
            text=text,
            by=request.person,
            now=found.site.now(),
            first=request.POST.get("first", ""),
        )
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect(here)
    return answered(request, here, given.as_shown())


@requires("implants.count_shelf")
@require_http_methods(["GET", "HEAD", "POST"])
def differences(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: every difference, to be explained or left open.  POST: close the count."""
    found = count_for(request.person, pk)
    lines = lines_of(found)
    if request.method == "POST":
        said = {line.pk: explanation_of(request.POST, line) for line in lines}
        try:
            close_count(count=found, explanations=said, by=request.person, now=found.site.now())
        except Refused as refused:
            messages.error(request, refused.say())
            for line in lines:
                line.typed = said[line.pk]  # type: ignore[attr-defined]
        else:
            return redirect("count", pk=pk)
    elif not found.is_open:
        return redirect("count", pk=pk)
    return render(request, "implants/count_differences.html", _page(found, lines))


@requires("implants.count_shelf")
@require_safe
def print_count(request: PersonsRequest, pk: int) -> HttpResponse:
    """A count sheet: blind with empty lines, else what is recorded."""
    found = count_for(request.person, pk)
    page = _page(found, lines_of(found))
    page["shows_list"] = not found.is_blind or not found.is_open
    page["empty_lines"] = range(20)
    return render(request, "implants/count_print.html", page)


def lines_of(count: Count) -> list[CountLine]:
    """One query."""
    return list(count.lines.select_related("unit__implant", "implant", "counted_by"))


def _page(count: Count, lines: list[CountLine]) -> dict[str, Any]:
    site = count.site
    odd = [line for line in lines if line.found != Found.EXPECTED]
    expected = [line for line in lines if line.found == Found.EXPECTED]
    counted = sum(line.is_counted for line in lines)
    ordered = sorted(lines, key=lambda line: line.place)
    return {
        "count": count,
        "opened": site.local(count.opened_at),
        "closed": site.local(count.closed_at) if count.closed_at else None,
        "places": [(place, list(of)) for place, of in groupby(ordered, lambda x: x.place)],
        "odd": odd,
        "expected": len(expected),
        "counted": counted,
        "as_recorded": sum(line.is_counted for line in expected),
        "differences": [line for line in ordered if line.is_difference],
        "as_of": site.local(site.now()),
        "now": site.local(site.now()),
    }
