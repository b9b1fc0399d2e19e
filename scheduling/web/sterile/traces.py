"""The trace of a load: its packs, where they are, the cases they went to; and what to retrieve."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from scheduling.sterile.trace import trace
from scheduling.web.requests import PersonsRequest
from trays.access import load_for
from trays.models import LoadState

NO_GOOD = (LoadState.FAILED, LoadState.WITHDRAWN)


@requires("scheduling.read_cases")
@require_safe
def load_trace(request: PersonsRequest, pk: int) -> HttpResponse:
    load = load_for(request.person, pk)
    site = request.person.site
    packs = trace(load, site)
    page = {
        "load": load,
        "packs": packs,
        "no_good": load.state in NO_GOOD,
        "retrieve": [pack for pack in packs if pack.to_retrieve],
        "opened": [pack for pack in packs if pack.opened],
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/trace.html", page)
