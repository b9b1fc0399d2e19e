"""Washers and sterilisers: in use or not, what is in them, and who waits for them."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.models import Site
from deploy.kit.signed_act import sign
from scheduling.coverage.whatif import what_if
from scheduling.queries import coverage_now
from scheduling.sterile.outages import halts, machine_states
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.losses import Loss, losses
from scheduling.web.views import case_pks
from trays.models import Load, LoadState, Machine
from trays.operations.machines import put_back_into_use, put_out_of_use

BUSY = (LoadState.OPEN, LoadState.RUNNING)
WHYS = ("test cycle failed", "broken", "service")


@requires("trays.read_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def machines(request: PersonsRequest) -> HttpResponse:
    if request.method == "POST":
        if not request.user.has_perm("trays.process_trays"):
            raise PermissionDenied
        return _act(request)
    return _page(request)


TYPED = ("machine", "act", "why", "reason", "back_at")


def _page(request: PersonsRequest, refused: bool = False) -> HttpResponse:
    """`refused`: what the form said stands there still."""
    site = request.person.site
    loads = Load.objects.filter(machine__site=site, state__in=BUSY).select_related("machine")
    inside = {load.machine_id: load for load in loads}
    found = list(Machine.objects.filter(site=site))
    down = [one for one in found if one.down_since]
    page: dict[str, Any] = {
        "machines": [
            (
                one,
                inside.get(one.pk),
                site.local(one.down_since) if one.down_since else None,
                site.local(one.back_at) if one.back_at else None,
            )
            for one in found
        ],
        "down": down,
        "halts": _halts(site) if down else [],
        "hit": _hit(site) if down and request.user.has_perm("scheduling.read_cases") else None,
        "whys": WHYS,
        "typed": {name: request.POST.get(name, "") if refused else "" for name in TYPED},
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/machines.html", page)


def _halts(site: Site) -> list[tuple[str, datetime | None]]:
    """The steps that stand still, and until when (local).  One query."""
    return [
        (halt.step, site.local(halt.until) if halt.until else None)
        for halt in halts(machine_states(site), site.now())
    ]


def _hit(site: Site) -> tuple[Loss, ...]:
    """The cases that come off worse than if every machine worked.  Decides twice."""
    whole, now = coverage_now(site, outages=False), coverage_now(site)
    return losses(now.scenario, what_if(whole.decision, now.scenario), case_pks(site))


def _act(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    code = request.POST.get("machine", "")
    machine = Machine.objects.filter(site=site, code=code).first()
    if machine is None:
        return redirect("machines")
    who: dict[str, Any] = {"machine": machine, "by": request.person, "now": site.now()}
    try:
        if request.POST.get("act") == "up":
            sign(request, act=f"{machine} into use again")
            put_back_into_use(**who)
        else:
            said = [request.POST.get("why", ""), request.POST.get("reason", "").strip()]
            back_at = _moment(site, request.POST.get("back_at", ""))
            put_out_of_use(reason=": ".join(filter(None, said)), back_at=back_at, **who)
    except (Refused, ValueError) as fault:
        messages.error(request, f"Nothing was changed. {fault}")
        return _page(request, refused=True)
    return redirect("machines")


def _moment(site: Site, text: str) -> datetime | None:
    """As a browser writes it, 2027-03-05T14:30, in the site's time."""
    if not text.strip():
        return None
    try:
        said = datetime.fromisoformat(text.strip()).replace(tzinfo=ZoneInfo(site.timezone))
    except ValueError:
        raise ValueError(f"back: a day and time as 2027-03-05 14:30, not “{text[:20]}”") from None
    if said <= site.now():
        raise ValueError("back: that has passed already")
    return said
