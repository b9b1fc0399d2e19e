"""Washers and sterilisers: in use or not, what is in them, and who waits for them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.web.requests import PersonsRequest
from trays.models import Load, LoadState, Machine
from trays.operations.machines import put_back_into_use, put_out_of_use

BUSY = (LoadState.OPEN, LoadState.RUNNING)


@requires("trays.read_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def machines(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    if request.method == "POST":
        if not request.user.has_perm("trays.process_trays"):
            raise PermissionDenied
        return _act(request)
    loads = Load.objects.filter(machine__site=site, state__in=BUSY).select_related("machine")
    inside = {load.machine_id: load for load in loads}
    page: dict[str, Any] = {
        "machines": [
            (one, inside.get(one.pk), site.local(one.down_since) if one.down_since else None)
            for one in Machine.objects.filter(site=site)
        ],
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/machines.html", page)


def _act(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    code = request.POST.get("machine", "")
    machine = Machine.objects.filter(site=site, code=code).first()
    if machine is None:
        return redirect("machines")
    who: dict[str, Any] = {"machine": machine, "by": request.person, "now": site.now()}
    try:
        if request.POST.get("act") == "up":
            put_back_into_use(**who)
            return redirect("machines")
        put_out_of_use(reason=request.POST.get("reason", ""), **who)
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
        return redirect("machines")
    # What still has to go through the others, in which order, and what that costs.
    return redirect("which_first" if request.user.has_perm("scheduling.read_cases") else "machines")
