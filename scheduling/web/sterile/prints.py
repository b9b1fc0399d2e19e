"""The prints of sterile services, as PDF files."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from scheduling.pick_lists.paper import Paper
from scheduling.queries import coverage_now
from scheduling.sterile.prints.contents import (
    count_sheet_of,
    label_of,
    load_list_of,
    retrieval_list_of,
)
from scheduling.sterile.prints.handover import handover_of
from scheduling.sterile.prints.label import label_pdf
from scheduling.sterile.prints.sheet import Sheet, sheet_pdf
from scheduling.sterile.trace import trace
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.queue import handover_content
from trays.access import load_for, tray_at
from trays.models import Pack


def _file(content: bytes, name: str) -> HttpResponse:
    disposition = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(content, content_type="application/pdf", headers=disposition)


def _sheet(request: PersonsRequest, sheet: Sheet, name: str) -> HttpResponse:
    asked = request.GET.get("paper", "")
    paper = Paper(asked) if asked in list(Paper) else Paper.A4
    return _file(sheet_pdf(sheet, paper), name)


@requires("trays.read_trays")
@require_safe
def label(request: PersonsRequest, pk: int) -> HttpResponse:
    """The label of the tray's present pack."""
    tray = tray_at(request.person, pk)
    pack = (
        Pack.objects.filter(tray=tray, last_seq=None)
        .select_related("tray__site", "tray__configuration", "tray__version", "packed_by")
        .first()
    )
    if pack is None:
        raise Http404("not packed")
    return _file(label_pdf(label_of(pack)), f"label-{tray.pk}-{pack.number}")


@requires("trays.read_trays")
@require_safe
def count_sheet(request: PersonsRequest, pk: int) -> HttpResponse:
    """The tray's count sheet with boxes to tick, with what was said of the last count."""
    tray = tray_at(request.person, pk)
    count = tray.counts.select_related("version", "closed_by", "second").first()
    return _sheet(request, count_sheet_of(tray, count), f"count-sheet-{tray.pk}")


@requires("trays.read_trays")
@require_safe
def load_list(request: PersonsRequest, pk: int) -> HttpResponse:
    load = load_for(request.person, pk)
    return _sheet(request, load_list_of(load, request.person.site), f"load-{load}")


@requires("scheduling.read_cases")
@require_safe
def retrieval(request: PersonsRequest, pk: int) -> HttpResponse:
    load, site = load_for(request.person, pk), request.person.site
    packs = trace(load, site)
    return _sheet(request, retrieval_list_of(load, packs, site), f"retrieve-{load}")


@requires("scheduling.read_cases")
@require_safe
def handover(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    content = handover_content(site, coverage_now(site))
    return _sheet(request, handover_of(content, site), "handover")
