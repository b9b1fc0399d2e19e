"""The trace of a load: its packs, where they are, the cases they went to; and what to retrieve."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import sign
from scheduling.sterile.trace import trace
from scheduling.web.requests import PersonsRequest
from trays.access import load_for
from trays.models import Incident, Load, LoadState
from trays.operations.incidents import close_incident

NO_GOOD = (LoadState.FAILED, LoadState.WITHDRAWN)


@requires("scheduling.read_cases")
@require_http_methods(["GET", "HEAD", "POST"])
def load_trace(request: PersonsRequest, pk: int) -> HttpResponse:
    """POST: what was done about an incident, signed."""
    load = load_for(request.person, pk)
    if request.method == "POST":
        if not request.user.has_perm("trays.release_loads"):
            raise PermissionDenied
        return _close(request, load)
    return _page(request, load)


def _page(
    request: PersonsRequest, load: Load, said_of: int | None = None, said: str = ""
) -> HttpResponse:
    """`said`: what was typed of the incident `said_of`, where it was refused; it stands still."""
    site = request.person.site
    packs = trace(load, site)
    page = {
        "load": load,
        "packs": packs,
        "no_good": load.state in NO_GOOD,
        "retrieve": [pack for pack in packs if pack.to_retrieve],
        "opened": [pack for pack in packs if pack.opened],
        "incidents": [
            (one, site.local(one.opened_at), site.local(one.closed_at) if one.closed_at else None)
            for one in Incident.objects.filter(pack__load=load).select_related(
                "pack__tray", "closed_by"
            )
        ],
        "said_of": said_of,
        "said": said,
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/trace.html", page)


def _close(request: PersonsRequest, load: Load) -> HttpResponse:
    pk = request.POST.get("incident", "")
    incident = Incident.objects.filter(pack__load=load, pk=pk if pk.isdecimal() else 0).first()
    if incident is None:
        return redirect("load_trace", load.pk)
    try:
        sign(request, act=f"close the incident of tray {incident.pack.tray}")
        close_incident(
            incident=incident,
            outcome=request.POST.get("outcome", ""),
            by=request.person,
            now=request.person.site.now(),
        )
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
        return _page(request, load, incident.pk, request.POST.get("outcome", ""))
    return redirect("load_trace", load.pk)
