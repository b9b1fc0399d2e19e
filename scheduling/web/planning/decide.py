"""Confirm or postpone a case; take on its gaps; see what else of a line is in the house."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused as AnyRefused
from deploy.kit.signed_act import sign
from scheduling.access import case_for, is_theirs
from scheduling.confirming import Basis
from scheduling.decided import OPEN, basis_now, standings
from scheduling.errors import Refused
from scheduling.models import Case, CaseStatus
from scheduling.operations.decisions import confirm_case, plan_numbers, postpone_case
from scheduling.operations.notices import hand_back, take_on
from scheduling.operations.plans import confirm
from scheduling.queries import Coverage, coverage_now
from scheduling.web.planning.seal import opened, sealed
from scheduling.web.requests import PersonsRequest
from scheduling.words import procedure_in_words

CHANGED = "That page is too old or was not made for you. Look at the case again first."


@requires("scheduling.write_own_plan")
@require_http_methods(["GET", "HEAD", "POST"])
def decide(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: what would be confirmed, gap by gap.  POST: confirm, or postpone; both are signed."""
    case = case_for(request.person, pk)
    if not is_theirs(request.person, case):
        raise PermissionDenied
    if case.status != CaseStatus.BOOKED:
        messages.error(request, f"Case {case.ref} is {case.status}: there is nothing to confirm.")
        return redirect("case", pk=pk)
    if request.method == "POST":
        return _decided(request, case)
    return _page(request, case)


def _decided(request: PersonsRequest, case: Case) -> HttpResponse:
    saw = opened(request.POST.get("saw", ""), case=case, by=request.person)
    if saw is None:
        messages.error(request, CHANGED)
        return redirect("decide", pk=case.pk)
    now = case.site.now()
    reasons = {gap: request.POST.get(f"reason-{i}", "") for i, gap in enumerate(saw.gaps, start=1)}
    try:
        if request.POST.get("act") == "postpone":
            sign(request, act=f"postpone case {case.ref}")
            said = request.POST.get("postponed_because", "")
            postpone_case(case=case, saw=saw, reason=said, by=request.person, now=now)
            messages.success(request, f"{case.ref} is postponed. Whoever is on it was told.")
        else:
            sign(request, act=f"confirm case {case.ref}")
            confirm_case(case=case, saw=saw, reasons=reasons, by=request.person, now=now)
            messages.success(request, f"{case.ref} is confirmed as it stands.")
    except AnyRefused as refused:
        messages.error(request, refused.say())
        if refused.status in (400, 403):
            # The reasons that were typed stay on the page.
            return _page(request, case, status=refused.status)
        return redirect("decide", pk=case.pk)
    return redirect("case", pk=case.pk)


def _page(request: PersonsRequest, case: Case, status: int = 200) -> HttpResponse:
    coverage = coverage_now(case.site)
    plan = case.plans.select_related("technique").last()
    basis = basis_now(coverage, case, plan.number if plan else 0)
    if plan is None or basis is None:
        messages.error(request, f"Case {case.ref} has no plan yet: plan it first.")
        return redirect("case", pk=case.pk)
    page: dict[str, Any] = {
        "case": case,
        "plan": plan,
        "basis": basis,
        "procedure": procedure_in_words(coverage.scenario, coverage.scenario.cases[case.ref]),
        "saw": sealed(basis, case=case, by=request.person),
        "gaps": [
            (number, gap, request.POST.get(f"reason-{number}", ""))
            for number, gap in enumerate(basis.gaps, start=1)
        ],
        "postponed_because": request.POST.get("postponed_because", ""),
        "asked": _still_asked(coverage, case),
        "standing": standings([case], {case.pk: basis}).get(case.pk, OPEN),
        "start": case.site.local(case.start),
        "as_of": case.site.local(coverage.report.now),
    }
    response = render(request, "scheduling/planning/decide.html", page, status=status)
    add_never_cache_headers(response)
    return response


def _still_asked(coverage: Coverage, case: Case) -> list[str]:
    """The answers that the technique asks for and nobody gave: they can be given here."""
    technique = coverage.scenario.techniques[coverage.scenario.cases[case.ref].technique]
    codes = {one.code for one in technique.confirmations}
    return [code for code in coverage.report.case(case.ref).questions if code in codes]


@requires("scheduling.write_own_plan")
@require_POST
def answer(request: PersonsRequest, pk: int) -> HttpResponse:
    """Give one confirmation that the technique asks for, and back to the decision."""
    case = case_for(request.person, pk)
    if not is_theirs(request.person, case):
        raise PermissionDenied
    number = request.POST.get("plan", "")
    code = request.POST.get("code", "").replace("\0", "")
    plan = case.plans.filter(number=int(number) if number.isdigit() else 0).first()
    try:
        if plan is None:
            raise Refused("plan_missing", case=case.ref)
        confirm(plan=plan, code=code, by=request.person, now=case.site.now())
    except Refused as refused:
        messages.error(request, refused.say())
    return redirect("decide", pk=pk)


@requires("scheduling.take_on_gaps")
@require_POST
def on_it(request: PersonsRequest, pk: int) -> HttpResponse:
    """Take the case's gaps on, or hand them back."""
    case = case_for(request.person, pk)
    act = hand_back if request.POST.get("act") == "hand back" else take_on
    try:
        act(case=case, by=request.person, now=case.site.now())
    except Refused as refused:
        messages.error(request, refused.say())
    return redirect("case", pk=pk)


def basis_for(coverage: Coverage, case: Case) -> Basis | None:
    """One query."""
    return basis_now(coverage, case, plan_numbers(case.site).get(case.pk, 0))
