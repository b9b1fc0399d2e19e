"""Check a loan in by scan: a tray's tag opens its page, a box goes against the delivery note."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.models.arrival import Outcome
from implants.models.owner import Owner
from implants.operations.bench import arrival_in_hand
from implants.queries import here_of_lot
from implants.receiving.answers import Answer, stop
from implants.web.answers import answer_of, answered
from implants.web.receiving import decided
from scheduling.loans.access import loan_for, loans_for
from scheduling.loans.progress import progress
from scheduling.loans.states import LoanState
from scheduling.models import Loan, LoanTray
from scheduling.operations.loans.arriving import put_in_place, scan_in_box
from scheduling.web.loans.pages import tray_row
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile.reading import tray_scanned
from trays.models import Tray, settings_of


@requires("scheduling.check_in_loan_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def check_in(request: PersonsRequest, code: str) -> HttpResponse:
    """GET: what is checked in and what is not, and the last answer.  POST: a scan."""
    loan = loan_for(request.person, code)
    if request.method != "POST":
        return _page(request, loan)
    text = request.POST.get("text", "")
    address = reverse("loan_check_in", args=[loan.code])
    if not text.strip():
        return redirect(address)
    line = _tray_of(loan, text)
    if line is not None:
        return redirect("loan_tray", code=loan.code, pk=line.pk)
    if not request.user.has_perm("scheduling.borrow"):
        return answered(request, address, _no_tray_of(loan, text))
    try:
        answer = _scan(request, loan, text)
    except Refused as refused:
        answer = stop("unreadable", asked="a box of this loan", read=refused.say())
    return answered(request, address, answer.as_shown())


def _scan(request: PersonsRequest, loan: Loan, text: str) -> Answer:
    person, now = request.person, request.person.site.now()
    if "put away" in request.POST:
        return put_in_place(loan=loan, by=person, now=now)
    again = request.POST.get("new_place", "")
    return scan_in_box(loan=loan, text=text, again=again, by=person, now=now)


def _no_tray_of(loan: Loan, text: str) -> dict[str, object]:
    """What sterile services are answered to all but a tray of the loan."""
    asked = f"a tray of loan {loan.code}; its boxes are scanned by the implant coordinator"
    return {
        **stop("unreadable", asked=asked, read=text[:60]).as_shown(),
        "title": "No tray of this loan",
        "what_to_do": "Scan the tag on the tray, or type the code that stands below.",
    }


def _tray_of(loan: Loan, text: str) -> LoanTray | None:
    """The loan's tray by its code or tag."""
    tray = tray_scanned(loan.site, text)
    return loan.trays.filter(tray=tray).first() if isinstance(tray, Tray) else None


@requires("scheduling.borrow")
@require_POST
def decide(request: PersonsRequest, code: str) -> HttpResponse:
    """What a person sees and says of the box in hand, by button."""
    loan = loan_for(request.person, code)
    return decided(request, reverse("loan_check_in", args=[loan.code]))


def _page(request: PersonsRequest, loan: Loan) -> HttpResponse:
    (found,) = progress(loans_for(request.person).filter(pk=loan.pk))
    site = loan.site
    limit = settings_of(site).weight_limit_grams
    arrival = arrival_in_hand(request.person)
    waiting = arrival if arrival and arrival.outcome == Outcome.WAITING else None
    page: dict[str, Any] = {
        "loan": loan,
        "found": found,
        "trays": [tray_row(line, limit) for line in found.trays],
        "open_lines": [line for line in found.lines if line.awaited],
        "done_lines": [line for line in found.lines if not line.awaited],
        "awaited": sum(line.awaited for line in found.lines),
        "answer": answer_of(request),
        "arrival": arrival,
        "waiting": waiting,
        "owners": Owner.choices,
        "decide_url": reverse("loan_box", args=[loan.code]),
        "places": [loan.place],
        "is_arrived": loan.state == LoanState.ARRIVED,
        "due": site.local(loan.expected_at) if loan.expected_at else None,
        "late": found.is_late(site.now()),
        "may_borrow": request.user.has_perm("scheduling.borrow"),
        "as_of": site.local(site.now()),
    }
    if waiting is not None and waiting.implant is not None and not waiting.serial:
        page["of_lot"] = here_of_lot(waiting.implant, waiting.lot)
    response = render(request, "scheduling/loans/check_in.html", page)
    add_never_cache_headers(response)
    return response
