"""Labels of the shelf, each with a QR code: places, and boxes whose own label cannot be scanned."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from deploy.kit.house_links import HouseKind, house_link
from implants.access import units_for
from implants.counting.places_now import places_now
from implants.operations.counts import LIES
from scheduling.pick_lists.codes import code_of
from scheduling.web.requests import PersonsRequest


@requires("implants.read_shelf")
@require_safe
def place(request: PersonsRequest, name: str) -> HttpResponse:
    """`/p/{place}`: what is recorded there.  Six queries; Http404 where no box lies."""
    site = request.person.site
    boxes = units_for(request.person).filter(
        location=name, state__in=LIES, expected_at__isnull=True
    )
    page = {"name": name, "boxes": list(boxes), "as_of": site.local(site.now())}
    if not page["boxes"]:
        raise Http404("no box is recorded there")
    return render(request, "scheduling/labels/place.html", page)


@requires("implants.receive")
@require_safe
def place_labels(request: PersonsRequest) -> HttpResponse:
    """A sheet of every place's label, in walking order; about 4 ms a code.  Six queries."""
    site = request.person.site
    labels = [
        {"name": name, "code": code_of(house_link(site.address, name, HouseKind.PLACE))}
        for name in sorted(one.place for one in places_now(site))
    ]
    return render(request, "scheduling/labels/place_labels.html", {"labels": labels})


@requires("implants.receive")
@require_safe
def box_label(request: PersonsRequest, pk: int) -> HttpResponse:
    """A label of 50 × 25 mm with the box's house code.  Six queries."""
    unit = get_object_or_404(units_for(request.person), pk=pk)
    code = code_of(house_link(request.person.site.address, unit.code))
    return render(request, "scheduling/labels/box_label.html", {"unit": unit, "code": code})
