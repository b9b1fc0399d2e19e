"""Needed next: the queue of sterile services by needed-by, at the bench and on the wall."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from deploy.kit.doors import requires
from deploy.kit.models import Site
from deploy.kit.session_limits import open_when_locked, unattended
from scheduling.models.house import loan_hours_ahead
from scheduling.queries import Coverage, coverage_now
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.reading import tray_scanned
from scheduling.web.tray_queue import Queue, QueueRow, TrayState, queue
from scheduling.web.views import answer, case_pks
from trays.happened import happened_since
from trays.instruments_away import away
from trays.models import Hold, Incident, Load, LoadState, Machine, Tray
from trays.operations.handover import hand_over
from trays.queries import changes_since, last_handover, with_since
from trays.stages import stands
from trays.stations import station_scanned

ON_THE_WALL = 10.0
"""Lines that fit at a height that is read from four metres, what is out of use and without a tray
among them."""
SECOND_LINE = 0.5
"""How much more of the height a row takes with something to know under it."""
TIGHT_MINUTES = 120


@requires("scheduling.read_cases")
@require_http_methods(["GET", "HEAD", "POST"])
def needed_next(request: PersonsRequest) -> HttpResponse:
    """POST: a tray is scanned, and the page begins with what it is for."""
    site = request.person.site
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\0", "").strip()
        if (station := station_scanned(text)) is not None:
            return redirect("bench_station", station.slug)
        return redirect(f"{request.path}?{urlencode({'asked': text[:400]})}")
    text = request.GET.get("asked", "").replace("\0", "")[:400]
    asked = tray_scanned(site, text) if text else ""
    coverage = coverage_now(site)
    page = queue_now(site, coverage)
    return answer(
        request,
        "needed_next",
        coverage,
        {
            "queue": page,
            "asked": asked if isinstance(asked, Tray) else None,
            "asked_stands": stands(asked.stage) if isinstance(asked, Tray) else "",
            "asked_rows": [
                row for row in page.rows if isinstance(asked, Tray) and row.tray == asked.code
            ],
            "unread": asked if isinstance(asked, str) else "",
            "down": machines_down(site),
            **since_handover(site),
        },
    )


def machines_down(site: Site) -> list[tuple[str, datetime | None]]:
    """The machines out of use, and when each should be back (local; None: nobody knows).  One
    query."""
    found = Machine.objects.filter(site=site, down_since__isnull=False).order_by("code")
    return [(one.code, site.local(one.back_at) if one.back_at else None) for one in found]


def since_handover(site: Site) -> dict[str, Any]:
    """The last handover, what happened since that is to be told, and which trays moved.

    Six queries, one before the first handover."""
    last = last_handover(site)
    if last is None:
        return {"handover": None}
    return {
        "handover": last,
        "handed_at": site.local(last.at),
        "happened": [(one, site.local(one.at)) for one in happened_since(site, last.at)],
        "changes": [(one, site.local(one.at)) for one in changes_since(site, last.at)],
    }


def queue_now(site: Site, coverage: Coverage) -> Queue:
    """Four queries beside the coverage."""
    repairs = dict(
        Hold.objects.filter(tray__site=site, lifted_at=None).values_list("tray_id", "back_on")
    )
    states = {
        tray.code: TrayState(
            stage=tray.stage,
            owner=tray.owner,
            pk=tray.pk,
            since=site.local(tray.since) if tray.since else None,  # type: ignore[attr-defined]
            why=tray.why or "",  # type: ignore[attr-defined]
            back_on=repairs.get(tray.pk),
            case_ref=tray.case_ref,
        )
        for tray in with_since(Tray.objects.filter(site=site))
    }
    return queue(
        coverage.scenario,
        coverage.report,
        case_pks=case_pks(site),
        states=states,
        loan_hours_ahead=loan_hours_ahead(site),
    )


@open_when_locked
@unattended
@requires("scheduling.read_cases")
@require_safe
def wall(request: PersonsRequest) -> HttpResponse:
    """The same for a screen on the wall: what is to be done first, nobody's name, and its age.

    It asks for itself again and again: that keeps no session open, and a locked one shows it.
    """
    site = request.person.site
    coverage = coverage_now(site)
    page = queue_now(site, coverage)
    to_do = [row for row in page.rows if row.is_work]
    work = [row for row in to_do if matters_now(row)]
    down = machines_down(site)
    shown = _fitting(work, ON_THE_WALL - bool(down) - bool(page.unserved))
    return answer(
        request,
        "sterile/wall",
        coverage,
        {
            "down": down,
            "rows": shown,
            "more": len(work) - len(shown),
            "later": len(to_do) - len(work),
            "ready": len(page.rows) - len(to_do),
            "unserved": page.unserved,
            "held": page.held,
        },
    )


def _fitting(rows: Sequence[QueueRow], room: float) -> list[QueueRow]:
    """The first rows, as many as the wall has room for."""
    shown = []
    for row in rows:
        room -= 1 + SECOND_LINE * row.has_more_to_know
        if room < 0:
            break
        shown.append(row)
    return shown


def matters_now(row: QueueRow) -> bool:
    """What can be worked on, and of what is with another case what will be tight."""
    is_tight = row.slack_minutes is None or row.slack_minutes < TIGHT_MINUTES
    return not row.after or is_tight


@requires("scheduling.read_cases")
@require_http_methods(["GET", "HEAD", "POST"])
def handover(request: PersonsRequest) -> HttpResponse:
    """GET: what the next shift has to know.  POST: hand over."""
    site = request.person.site
    if request.method == "POST":
        if not request.user.has_perm("trays.process_trays"):
            raise PermissionDenied
        hand_over(by=request.person, now=site.now(), note=request.POST.get("note", ""))
        return redirect("handover")
    coverage = coverage_now(site)
    return answer(request, "sterile/handover", coverage, handover_content(site, coverage))


def handover_content(site: Site, coverage: Coverage) -> dict[str, Any]:
    """What changed since the last handover, and what is open.  Thirteen queries."""
    page = queue_now(site, coverage)
    busy = (LoadState.OPEN, LoadState.RUNNING, LoadState.AWAITING_RELEASE)
    loads = Load.objects.filter(machine__site=site, state__in=busy).select_related("machine")
    return {
        **since_handover(site),
        "work": [row for row in page.rows if row.is_work and matters_now(row)][:20],
        "unserved": page.unserved,
        "held": page.held,
        "incidents": list(
            Incident.objects.filter(closed_at=None, pack__tray__site=site).select_related(
                "pack__tray", "pack__load__machine"
            )
        ),
        "away": list(away(site)),
        "loads": list(loads.order_by("pk")),
        "down": list(Machine.objects.filter(site=site, down_since__isnull=False)),
    }
