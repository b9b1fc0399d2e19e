"""Recalls: what one would hit, opening it, and the list of them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.access import recalls_for
from implants.operations.recalls import open_recall
from implants.recalls.boxes import boxes_named
from implants.recalls.notice import Notice, read_notice
from implants.states import STOCK, UnitState
from scheduling.queries import coverage_now
from scheduling.recall_effects import cases_hit
from scheduling.web.recalls.rows import recall_rows
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import case_pks

COUNTS = (UnitState.AWAITED, UnitState.ON_THE_SHELF, UnitState.PICKED)
"""What a recall takes from the cases; other boxes served none before."""


@requires("implants.read_recalls")
@require_http_methods(["GET", "HEAD", "POST"])
def recalls(request: PersonsRequest) -> HttpResponse:
    """GET: every recall, and the form for a new one.  POST: show what it would hit, or open it."""
    if request.method != "POST":
        return _page(request, {})
    if not request.user.has_perm("implants.open_recall"):
        raise PermissionDenied
    site = request.person.site
    title = request.POST.get("title", "").replace("\0", "")[:100]
    text = request.POST.get("notice", "")
    is_drill = request.POST.get("is_drill") == "1"
    notice = read_notice(text, site)
    if request.POST.get("act") == "open" and not notice.faults:
        try:
            made = open_recall(
                title=title,
                named=notice.named,
                is_drill=is_drill,
                by=request.person,
                now=site.now(),
            )
        except Refused as refused:
            messages.error(request, refused.say())
        else:
            return redirect("recall", pk=made.pk)
    typed = {"title": title, "text": text, "is_drill": is_drill}
    return _page(request, {"typed": typed, **_preview(request, notice)})


def _preview(request: PersonsRequest, notice: Notice) -> dict[str, Any]:
    """What the notice would hit; or its faults.  As many queries as the coverage, and three."""
    if notice.faults:
        return {"faults": notice.faults}
    site = request.person.site
    boxes = list(boxes_named(notice.named).filter(state__in=STOCK).order_by("location", "code"))
    coverage = coverage_now(site)
    counting = {box.code for box in boxes if box.state in COUNTS}
    return {
        "notice": notice,
        "boxes": boxes,
        "hits": cases_hit(coverage, counting, case_pks(site)),
        "as_of": site.local(coverage.report.now),
    }


def _page(request: PersonsRequest, more: dict[str, Any]) -> HttpResponse:
    site = request.person.site
    page = {
        "recalls": recall_rows(recalls_for(request.person)),
        "as_of": site.local(site.now()),
        **more,
    }
    return render(request, "scheduling/recalls/recalls.html", page)
