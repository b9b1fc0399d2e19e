"""One recall: its retrieval list closed by scans, the cases it hits, and its closing by two."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import second_person
from implants.access import recall_for
from implants.models import Recall
from implants.operations.recalls import close_recall, explain_box, retrieve_box
from implants.recalls.retrieving import answer as answer_to
from implants.shelf_reading import read_at_shelf
from implants.web.answers import answer_of, answered
from scheduling.access import cases_for
from scheduling.queries import coverage_now
from scheduling.recall_effects import cases_hit
from scheduling.web.recalls.rows import (
    boxes_of,
    by_place,
    implanted_outside,
    implanted_units,
    recipients,
)
from scheduling.web.recalls.views import COUNTS
from scheduling.web.requests import PersonsRequest


@requires("implants.read_recalls")
@require_safe
def recall(request: PersonsRequest, pk: int) -> HttpResponse:
    """As many queries as the coverage, and at most 14."""
    found = recall_for(request.person, pk)
    site = found.site
    boxes = boxes_of(found)
    named = list(found.lines.select_related("implant"))
    coverage = coverage_now(site)
    pks = dict(cases_for(request.person).values_list("ref", "pk"))
    hits = cases_hit(coverage, {box.unit.code for box in boxes if box.was in COUNTS}, pks)
    done = sum(box.is_done for box in boxes)
    page = {
        "recall": found,
        "opened": site.local(found.opened_at),
        "closed": site.local(found.closed_at) if found.closed_at else None,
        "named": named,
        "places": by_place(boxes),
        "number": len(boxes),
        "done": done,
        "left": len(boxes) - done,
        "hits": hits,
        "implanted": implanted_units(named).count() + implanted_outside(site, named).count(),
        "recipients": _recipients(request, found),
        "acts": found.is_open and request.user.has_perm("implants.open_recall"),
        "answer": answer_of(request),
        "as_of": site.local(coverage.report.now),
    }
    return render(request, "scheduling/recalls/recall.html", page)


def _recipients(request: PersonsRequest, found: Recall) -> object:
    if not request.user.has_perm("implants.read_recipients"):
        return None
    return recipients(found)


@requires("implants.read_recalls")
@require_safe
def print_recall(request: PersonsRequest, pk: int) -> HttpResponse:
    """The retrieval list as a page that prints.  Eight queries."""
    found = recall_for(request.person, pk)
    site = found.site
    page = {
        "recall": found,
        "opened": site.local(found.opened_at),
        "printed": site.local(site.now()),
        "named": list(found.lines.select_related("implant")),
        "places": by_place(boxes_of(found)),
    }
    return render(request, "scheduling/recalls/print.html", page)


@requires("implants.open_recall")
@require_http_methods(["POST"])
def retrieve(request: PersonsRequest, pk: int) -> HttpResponse:
    """A scan at the retrieval list."""
    found = recall_for(request.person, pk)
    here = reverse("recall", args=[pk])
    text = request.POST.get("text", "")
    if not text.strip():
        return redirect(here)
    now = found.site.now()
    read = read_at_shelf(text, site=found.site, today=found.site.local(now).date())
    given = answer_to(read, boxes_of(found))
    try:
        if given.box is not None:
            retrieve_box(box=given.box, by=request.person, now=now)
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect(here)
    return answered(request, here, given.as_shown())


@requires("implants.open_recall")
@require_POST
def explain(request: PersonsRequest, pk: int) -> HttpResponse:
    """A box that cannot be found, and why."""
    found = recall_for(request.person, pk)
    number = request.POST.get("box", "")
    box = get_object_or_404(found.boxes, pk=number if number.isdecimal() else 0)
    note = request.POST.get("note", "").replace("\0", "")[:120]
    try:
        explain_box(box=box, note=note, by=request.person, now=found.site.now())
    except Refused as refused:
        messages.error(request, refused.say())
    return redirect("recall", pk=pk)


@requires("implants.close_recall")
@require_POST
def close(request: PersonsRequest, pk: int) -> HttpResponse:
    """Two people close it, or withdraw it."""
    found = recall_for(request.person, pk)
    try:
        second = second_person(request, "implants.close_recall", act=f"close recall {found.pk}")
        close_recall(
            recall=found,
            by=request.person,
            second=second,
            now=found.site.now(),
            note=request.POST.get("note", "").replace("\0", "")[:200],
            withdrawn=request.POST.get("act") == "withdraw",
        )
    except Refused as refused:
        messages.error(request, refused.say())
    return redirect("recall", pk=pk)
