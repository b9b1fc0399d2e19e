"""The receiving bench: scan a box, look at it, scan its place."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.models import Site
from deploy.kit.persons_request import PersonsRequest
from implants.models import Arrival, Unit
from implants.models.arrival import IN_HAND, Outcome
from implants.models.owner import Owner
from implants.operations.bench import (
    arrival_in_hand,
    refuse_at_bench,
    say_use_by,
    scan_at_bench,
    set_aside,
)
from implants.queries import here_of_lot, usual_places
from implants.web.answers import answer_of, answered

LATEST = 20
BY_EYE = ("packaging", "label differs")


@requires("implants.receive")
@require_http_methods(["GET", "HEAD", "POST"])
def receive(request: PersonsRequest) -> HttpResponse:
    """GET: the box in hand, the last answer, and what came lately.  POST: a scan."""
    if request.method != "POST":
        return _page(request)
    if not request.POST.get("text", "").strip():
        return redirect("receive")
    answer = scan_at_bench(
        text=request.POST["text"],
        by=request.person,
        now=request.person.site.now(),
        again=request.POST.get("new_place", ""),
    )
    return answered(request, reverse("receive"), answer.as_shown())


@requires("implants.receive")
@require_POST
def decide(request: PersonsRequest) -> HttpResponse:
    """What a person sees and says of the box in hand, by button."""
    return decided(request, reverse("receive"))


def decided(request: PersonsRequest, address: str) -> HttpResponse:
    """Done as the button says; then back to the page at `address`, with the answer."""
    person, now = request.person, request.person.site.now()
    arrival = arrival_in_hand(person)
    said = request.POST.get("said", "")
    note = request.POST.get("note", "").replace("\0", "")[:80]
    try:
        if arrival is None or str(arrival.pk) != request.POST.get("arrival"):
            messages.error(request, "This box is not in hand any more. Scan it again.")
        elif said == "aside":
            set_aside(arrival=arrival, by=person, now=now, note=note)
        elif said in BY_EYE:
            answer = refuse_at_bench(arrival=arrival, code=said, by=person, now=now, note=note)
            return answered(request, address, answer.as_shown())
        elif said == "owner" and request.POST.get("owner") in Owner.values:
            Arrival.objects.filter(pk=arrival.pk).update(owner=request.POST["owner"])
        elif said in ("use by", "does not expire"):
            expiry = _day(request.POST.get("expiry", "")) if said == "use by" else None
            if said == "use by" and expiry is None:
                messages.error(request, "The use-by date is a day of the calendar.")
            else:
                answer = say_use_by(arrival=arrival, expiry=expiry, by=person, now=now)
                return answered(request, address, answer.as_shown())
    except Refused as refused:
        messages.error(request, refused.say())
    return redirect(address)


def _page(request: PersonsRequest) -> HttpResponse:
    """At most 10 queries."""
    site = request.person.site
    arrival = arrival_in_hand(request.person)
    waiting = arrival if arrival and arrival.outcome == Outcome.WAITING else None
    page: dict[str, Any] = {
        "as_of": site.local(site.now()),
        "answer": answer_of(request),
        "arrival": arrival,
        "waiting": waiting,
        "owners": Owner.choices,
        "decide_url": reverse("receive_decide"),
        "lately": _lately(site),
        "unknown": Arrival.objects.filter(site=site, outcome=Outcome.NOT_IN_CATALOGUE).count(),
        "awaited": Unit.objects.filter(site=site, expected_at__isnull=False).count(),
    }
    if waiting is not None and waiting.implant is not None:
        page["places"] = usual_places(waiting.implant)[:3]
        if not waiting.serial:
            page["of_lot"] = here_of_lot(waiting.implant, waiting.lot)
    return render(request, "implants/receive.html", page)


def _lately(site: Site) -> list[dict[str, Any]]:
    done = Arrival.objects.filter(site=site).exclude(outcome__in=IN_HAND)
    rows = done.select_related("implant", "unit")[:LATEST]
    return [{"arrival": row, "at": site.local(row.ended_at or row.at)} for row in rows]


def _day(text: str) -> date | None:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()  # noqa: DTZ007  a day has no zone
    except ValueError:
        return None
