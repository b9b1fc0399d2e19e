"""The queue of boxes whose labels name nothing in the catalogue."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.persons_request import PersonsRequest
from implants.access import implants_for
from implants.models import Arrival
from implants.models.arrival import Outcome
from implants.operations.unknown_boxes import link_to_catalogue, refuse_unknown


@requires("implants.receive")
@require_http_methods(["GET", "HEAD", "POST"])
def unknown_boxes(request: PersonsRequest) -> HttpResponse:
    """GET: the queue.  POST: link one to the catalogue, or refuse it."""
    person, site = request.person, request.person.site
    waiting = Arrival.objects.filter(site=site, outcome=Outcome.NOT_IN_CATALOGUE)
    if request.method == "POST":
        number = request.POST.get("arrival", "")
        arrival = get_object_or_404(waiting, pk=number if number.isdecimal() else 0)
        try:
            _decide(request, arrival)
        except Refused as refused:
            messages.error(request, refused.say())
        return redirect("unknown_boxes")
    page = {
        "rows": [
            {"arrival": one, "at": site.local(one.at)} for one in waiting.select_related("by")
        ],
        "catalogue": list(implants_for(person)),
        "as_of": site.local(site.now()),
    }
    return render(request, "implants/unknown_boxes.html", page)


def _decide(request: PersonsRequest, arrival: Arrival) -> None:
    person, now = request.person, request.person.site.now()
    if request.POST.get("act") == "refuse":
        note = request.POST.get("note", "").replace("\0", "").strip()
        refuse_unknown(arrival=arrival, note=note or "not the house's", by=person, now=now)
        messages.success(request, f"{arrival.item} is refused: send the box back.")
        return
    ref = request.POST.get("ref", "").replace("\0", "").strip()
    implant = implants_for(person).filter(ref__iexact=ref).first()
    if implant is None:
        messages.error(request, f"There is no REF “{ref}” in the catalogue.")
        return
    number = link_to_catalogue(arrival=arrival, implant=implant, by=person, now=now)
    boxes = "the box" if number == 1 else f"the {number} boxes"
    messages.success(request, f"{arrival.item} is {implant}. Scan {boxes} again to receive.")
