"""One tray at the bench: where it stands, why it is held, and the acts upon that."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import sign
from scheduling.queries import coverage_now
from scheduling.sterile.forecast import forecast_at
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.replacing import Replacing, replacing
from trays.access import tray_at
from trays.hold_kinds import AT_POINT_OF_USE, BY_A_PERSON, HoldKind
from trays.instruments_away import away_from_or_in, entries_of
from trays.models import Hold, Tray
from trays.operations.holds import hold_for, lift_by_name
from trays.operations.returns import notes_riding_along
from trays.queries import free_alike, with_since
from trays.stages import HELD_STAGES, lies_at_its_place

LATEST = 15
NOTHING: Mapping[str, str] = {}
HOLDERS = ("trays.process_trays", "trays.return_trays")
"""Who may hold: theatre too, where the pack is opened.  Lifting is for sterile services, but for
a count that was not closed."""


@requires("trays.read_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def tray(request: PersonsRequest, pk: int) -> HttpResponse:
    shown = tray_at(request.person, pk)
    if request.method == "POST":
        return _act(request, shown)
    return _page(request, shown)


def _page(request: PersonsRequest, shown: Tray, typed: Mapping[str, str] = NOTHING) -> HttpResponse:
    """`typed`: what a form said that was refused; it stands there still."""
    site = request.person.site
    found = with_since(Tray.objects.filter(pk=shown.pk)).get()
    hold = shown.holds.select_related("by").first()
    held = shown.stage in HELD_STAGES
    movements = shown.movements.select_related("move", "by").order_by("-seq")[:LATEST]
    hold = hold if held and hold and hold.lifted_at is None else None
    page: dict[str, Any] = {
        "tray": shown,
        "since": site.local(found.since),  # type: ignore[attr-defined]
        "why": found.why,  # type: ignore[attr-defined]
        "at_its_place": lies_at_its_place(shown.stage, shown.case_ref),
        "held": held,
        "hold": hold,
        "may_lift": held and _may(request, _lifters(hold)),
        "from_theatre": notes_riding_along(shown),
        "replacing": _replacing(request, shown, hold),
        "away": away_from_or_in(shown),
        "entries": [(one, site.local(one.at)) for one in entries_of(shown)[:LATEST]],
        "missing": shown.missing_lines.select_related("instrument"),
        "movements": [(one, site.local(one.at)) for one in movements],
        "kinds": BY_A_PERSON,
        "ready": site.local(shown.ready_at) if shown.ready_at else None,
        "may_hold": _may(request, HOLDERS),
        "as_of": site.local(site.now()),
        "typed": {name: typed.get(name, "") for name in ("act", "kind", "note", "back_on")},
    }
    return render(request, "scheduling/sterile/tray.html", page)


def _replacing(request: PersonsRequest, shown: Tray, hold: Hold | None) -> Replacing | None:
    """Only where a pack was rejected at its use is the whole site read and decided."""
    if hold is None or hold.kind not in AT_POINT_OF_USE:
        return None
    if not request.user.has_perm("scheduling.read_cases"):
        return None
    coverage = coverage_now(request.person.site)
    return replacing(
        coverage.scenario, coverage.report, shown.code, free_alike(shown), hold.case_ref
    )


def _act(request: PersonsRequest, shown: Tray) -> HttpResponse:
    site = request.person.site
    now = site.now()
    seq = request.POST.get("seq", "")
    who: dict[str, Any] = {
        "tray": shown,
        "by": request.person,
        "now": now,
        "note": request.POST.get("note", ""),
        "seq": int(seq) if seq.isdecimal() else None,
    }
    lifts = request.POST.get("act") == "lift"
    may = _lifters(shown.holds.filter(lifted_at=None).first()) if lifts else HOLDERS
    if not _may(request, may):
        raise PermissionDenied
    try:
        if lifts:
            sign(request, act=f"lift the hold of tray {shown}")
            lift_by_name(forecast=forecast_at(site, now), **who)
        else:
            kind = request.POST.get("kind", "")
            hold_for(
                kind=HoldKind(kind) if kind in HoldKind.values else HoldKind.OTHER,
                back_on=_day(request.POST.get("back_on", ""), site.local(now).date()),
                **who,
            )
    except (Refused, ValueError) as fault:
        messages.error(request, f"Nothing was changed. {fault}")
        return _page(request, tray_at(request.person, shown.pk), request.POST.dict())
    return redirect("tray_at_bench", shown.pk)


def _may(request: PersonsRequest, door: tuple[str, ...]) -> bool:
    return any(request.user.has_perm(permission) for permission in door)


def _lifters(hold: Hold | None) -> tuple[str, ...]:
    """A count of theatre's that was left open is theatre's to close too."""
    return HOLDERS if hold is not None and hold.kind == HoldKind.COUNT else HOLDERS[:1]


def _day(text: str, today: date) -> date | None:
    if not text.strip():
        return None
    try:
        back_on = date.fromisoformat(text.strip())
    except ValueError:
        raise ValueError(f"back on: a day as 2027-03-05, not “{text[:20]}”") from None
    if back_on < today:
        raise ValueError("back on: today or later")
    return back_on
