"""In theatre: a case is opened by its code, then label after label is checked and recorded."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.models import Person
from scheduling.access import case_for, cases_for
from scheduling.models import Case, CaseStatus, PickList
from scheduling.operations.locks import OPEN_STATUSES
from scheduling.operations.theatre_checks import check_label
from scheduling.operations.theatre_scans import scan_outcome
from scheduling.pick_lists.links import ListCode, own_code
from scheduling.theatre.in_theatre import in_theatre, not_accounted_for
from scheduling.theatre.outcomes import Outcome
from scheduling.theatre.waste import WasteReason
from scheduling.web.requests import PersonsRequest
from scheduling.web.theatre.answers import answer_of
from scheduling.web.theatre.outside import outside_boxes
from scheduling.web.theatre.second import SAID

CHECK = "check"
ACTS = {
    CHECK: "Check before opening",
    Outcome.IMPLANTED.value: "Implanted",
    Outcome.WASTED.value: "Wasted",
    Outcome.RETURNED.value: "Back unopened",
}
"""What a scan says, and its name on the page."""
WHAT_IS_READ = "Box or tray; or type REF and LOT"
WHICH_ONE = "Which box is in your hand? Its own code, or its number below"
NEAR = timedelta(days=1)


@requires("scheduling.record_use")
@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: PersonsRequest) -> HttpResponse:
    """Open a case: scan its list's code, type that or the case's reference, or choose."""
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\0", "").strip()
        case = _case_by_code(request.person, text)
        if case is not None:
            return redirect("in_theatre", case.pk)
        if text:
            said = f"“{text[:80]}” is neither a case nor the list of one case."
            messages.error(request, said)
        return redirect("theatre")
    site = request.person.site
    now = site.now()
    near = cases_for(request.person).filter(start__range=(now - NEAR, now + NEAR))
    today = site.local(now).date()
    lines = [
        (case, site.local(case.start))
        for case in near.exclude(status=CaseStatus.CANCELLED).order_by("start", "ref")
        if case.status == CaseStatus.STARTED or site.local(case.start).date() == today
    ]
    not_back = [(case, site.local(case.start), number) for case, number in not_accounted_for(site)]
    page = {"lines": lines, "not_back": not_back}
    return render(request, "scheduling/theatre/choose.html", page)


def _case_by_code(person: Person, text: str) -> Case | None:
    """At most two queries."""
    own = own_code(text)
    code = own.code if isinstance(own, ListCode) else text.upper()
    cases = cases_for(person)
    printed = PickList.objects.filter(site=person.site, code=code, case__isnull=False)
    by_list = cases.filter(pk__in=printed.values("case")).first()
    return by_list or cases.filter(ref__iexact=text).first()


@requires("scheduling.record_use")
@require_http_methods(["GET", "HEAD", "POST"])
def in_theatre_page(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: how the case stands, and the last answer.  POST: a scan, and back to the GET."""
    case = case_for(request.person, pk)
    if request.method == "POST":
        return _scan(request, case)
    act = request.GET.get("act", CHECK)
    answer = answer_of(case, request.GET.get("answer", ""))
    said = request.session.get(SAID, {})
    page = {
        "case": case,
        "start": case.site.local(case.start),
        "as_of": case.site.local(case.site.now()),
        "page": in_theatre(case),
        "outside": outside_boxes(case),
        "acts": ACTS.items(),
        "act": act if act in ACTS else CHECK,
        "reasons": WasteReason.choices,
        "is_open": case.status in OPEN_STATUSES,
        "answer": answer,
        "said": said["reason"] if answer and answer.check.pk == said.get("check") else "",
        "void": said.get("void"),
        "said_of_void": said.get("reason", ""),
        "scan_label": WHICH_ONE if answer and answer.which else WHAT_IS_READ,
    }
    response = render(request, "scheduling/theatre/in_theatre.html", page)
    add_never_cache_headers(response)
    return response


def _scan(request: PersonsRequest, case: Case) -> HttpResponse:
    text, act = request.POST.get("text", ""), request.POST.get("act", CHECK)
    if act == CHECK:
        text = _meant(text, request.POST.getlist("among"))
    here = reverse("in_theatre", args=[case.pk])
    if not text.strip():
        return redirect(here)
    by, now = request.person, case.site.now()
    if act in list(Outcome):
        made = scan_outcome(
            case=case,
            text=text,
            outcome=Outcome(act),
            why=waste_reason(request.POST.get("why", "")),
            by=by,
            now=now,
        )
    else:
        act, made = CHECK, check_label(case=case, text=text, by=by, now=now)
    return redirect(f"{here}?act={act}&answer={made.pk}")


def _meant(text: str, among: list[str]) -> str:
    """A digit says which of the boxes that the page asked about, by their codes in its order.

    At the check alone: what has become of a box is recorded by its code or its label.
    """
    said = text.strip()
    if len(said) == 1 and said.isascii() and said.isdigit() and 1 <= int(said) <= len(among):
        return among[int(said) - 1]
    return text


def waste_reason(given: str) -> WasteReason:
    return WasteReason(given) if given in WasteReason.values else WasteReason.OTHER
