"""Times per stage: what was measured, and what a person takes into the settings."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.models import HouseSettings
from scheduling.models.house import CAPACITY_FIELDS
from scheduling.operations.stage_minutes import accept_stage_minutes
from scheduling.sterile import stage_times as measuring
from scheduling.web.requests import PersonsRequest


@requires("scheduling.read_cases")
@require_http_methods(["GET", "HEAD", "POST"])
def stage_times(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    if request.method == "POST":
        if not request.user.has_perm("scheduling.change_housesettings"):
            raise PermissionDenied
        return _accept(request)
    house = HouseSettings.objects.filter(site=site).first() or HouseSettings(site=site)
    times = measuring.stage_times(site, site.now())
    page: dict[str, Any] = {
        "times": [
            (one, getattr(house, f"{CAPACITY_FIELDS[one.stage]}_places") or "") for one in times
        ],
        "least": measuring.LEAST,
        "days": measuring.DAYS,
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/stage_times.html", page)


def _accept(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    stage = request.POST.get("stage", "")
    places = request.POST.get("places", "").strip()
    proposed = {one.stage: one.proposed for one in measuring.stage_times(site, site.now())}
    try:
        # What was measured is accepted, not what a form says.
        accept_stage_minutes(
            stage=stage,
            minutes=proposed.get(stage) or 0,
            places=int(places) if places.isdecimal() else 0,
            by=request.person,
        )
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
    return redirect("stage_times")
