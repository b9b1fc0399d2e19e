"""Counts: which place to count next, and the differences that stayed open."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.persons_request import PersonsRequest
from implants.access import counts_for, open_lines_for
from implants.counting.places_now import lines_of_items, places_of_line, proposed
from implants.models import shelf_settings
from implants.operations.counts import open_count, settle_difference
from implants.places import place_named
from implants.web.explanations import explanation_of

PROPOSED, LATEST = 15, 10


@requires("implants.count_shelf")
@require_http_methods(["GET", "HEAD", "POST"])
def counts(request: PersonsRequest) -> HttpResponse:
    """GET: what to count next, what is running.  POST: open a count.  At most 11 queries."""
    if request.method == "POST":
        return _open(request)
    site = request.person.site
    settings = shelf_settings(site)
    found = list(counts_for(request.person)[:LATEST])
    page = {
        "proposed": proposed(site, every_days=settings.count_every_days)[:PROPOSED],
        "currency": settings.currency,
        "lines": lines_of_items(site),
        "counts": [
            {
                "count": one,
                "opened": site.local(one.opened_at),
                "closed": site.local(one.closed_at) if one.closed_at else None,
            }
            for one in found
        ],
        "open_differences": open_lines_for(request.person).count(),
        "as_of": site.local(site.now()),
    }
    return render(request, "implants/counts.html", page)


def _open(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    line, typed = request.POST.get("line", ""), request.POST.get("place", "").strip()
    if typed:
        place = place_named(typed, site)
        if place is None:
            messages.error(request, f"No box is recorded at “{typed[:64]}”.")
            return redirect("counts")
        places = [place]
    else:
        places = places_of_line(site, line.replace("\0", "")) if line else []
    try:
        made = open_count(
            places=places,
            is_blind=request.POST.get("how") != "list",
            by=request.person,
            now=site.now(),
        )
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect("counts")
    return redirect("count", pk=made.pk)


@requires("implants.count_shelf")
@require_http_methods(["GET", "HEAD", "POST"])
def open_differences(request: PersonsRequest) -> HttpResponse:
    """GET: every difference that stayed open.  POST: explain one."""
    lines = open_lines_for(request.person).select_related("unit__implant", "count", "implant")
    if request.method == "POST":
        number = request.POST.get("line", "")
        line = get_object_or_404(lines, pk=number if number.isdecimal() else 0)
        try:
            settle_difference(
                line=line,
                explanation=explanation_of(request.POST, line),
                by=request.person,
                now=request.person.site.now(),
            )
        except Refused as refused:
            messages.error(request, refused.say())
        return redirect("open_differences")
    site = request.person.site
    page = {"lines": list(lines), "as_of": site.local(site.now())}
    return render(request, "implants/open_differences.html", page)
