"""What is recorded by a button: opened, what came of a box, start and end; then the page again."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused as AnyRefused
from deploy.kit.models import Person
from deploy.kit.signed_act import second_person, sign
from implants.access import units_for
from implants.models import Unit
from scheduling.access import case_for
from scheduling.errors import Refused
from scheduling.models import Case, LabelCheck
from scheduling.operations.cases import end_case, start_case
from scheduling.operations.theatre_boxes import record_implanted, record_wasted, return_unopened
from scheduling.operations.theatre_checks import open_box
from scheduling.operations.theatre_trays import take_tray
from scheduling.theatre.outcomes import Outcome
from scheduling.theatre.overriding import Takes, takes
from scheduling.web.requests import PersonsRequest
from scheduling.web.theatre.pages import waste_reason
from scheduling.web.theatre.second import SAID, SECOND_SIGNER, second_signed


@requires("scheduling.record_use")
@require_POST
def open_checked(request: PersonsRequest, pk: int) -> HttpResponse:
    """The box whose label was checked is opened, the tray used; after a STOP with a reason, which
    whoever acts signs, or a second person where it takes two."""
    case = case_for(request.person, pk)
    key = request.POST.get("check", "")
    check = (
        LabelCheck.objects.filter(pk=key if key.isdecimal() else 0, case=case)
        .select_related("case__site", "unit", "tray")
        .first()
    )
    if check is None:
        raise Http404("no such check")

    reason = request.POST.get("reason", "")

    def act() -> str:
        second = _signed(request, check, reason)
        by, now = request.person, case.site.now()
        if check.tray_id:
            taken = take_tray(check=check, by=by, now=now, reason=reason, second=second)
            return f"Tray {taken.tray.code} is recorded as used."
        opening = open_box(check=check, by=by, now=now, reason=reason, second=second)
        return f"Box {opening.unit.code} is recorded as opened."

    # A reason that was refused with its signature stands there still.
    request.session[SAID] = {"check": check.pk, "reason": reason[:120]}
    return _done(request, case, act, again=f"?answer={check.pk}")


def _signed(request: PersonsRequest, check: LabelCheck, reason: str) -> Person | None:
    """Who signed beside the person who acts, where what was answered takes two; else whoever goes
    past a STOP signs alone.  NotSigned."""
    of = f"use tray {check.tray}" if check.tray_id else f"open box {check.unit}"
    what = f"{of} for case {check.case.ref} after a STOP"
    known = bool(check.unit_id or check.tray_id)
    needed = takes(check.answer, check.reason.get("code", ""), is_known=known)
    if needed is Takes.TWO_PEOPLE:
        return second_person(request, SECOND_SIGNER, act=what)
    if reason.strip():
        sign(request, act=what)
    return None


@requires("scheduling.record_use")
@require_POST
def record(request: PersonsRequest, pk: int) -> HttpResponse:
    """What came of one box: implanted, wasted, back unopened."""
    case = case_for(request.person, pk)
    unit = units_for(request.person).filter(code=request.POST.get("unit", "")).first()
    outcome, given = request.POST.get("outcome", ""), request.POST.get("seq", "")
    if unit is None or outcome not in list(Outcome):
        raise Http404("no such box")
    seq = int(given) if given.isdecimal() and len(given) < 10 else None

    def act() -> str:
        _record(request, case, unit, Outcome(outcome), seq)
        return f"Box {unit.code} is recorded as {outcome}."

    return _done(request, case, act)


def _record(
    request: PersonsRequest, case: Case, unit: Unit, outcome: Outcome, seq: int | None
) -> None:
    by, now = request.person, case.site.now()
    if outcome is Outcome.IMPLANTED:
        record_implanted(
            case=case,
            unit=unit,
            by=by,
            now=now,
            seq=seq,
            reason=request.POST.get("reason", ""),
            second=second_signed(request, f"implant box {unit.code} in case {case.ref}"),
        )
    elif outcome is Outcome.WASTED:
        if not request.POST.get("why", "").strip():
            raise Refused("waste_without_reason", unit=unit.code)
        why, note = waste_reason(request.POST.get("why", "")), request.POST.get("note", "")
        record_wasted(case=case, unit=unit, why=why, note=note, by=by, now=now, seq=seq)
    else:
        return_unopened(case=case, unit=unit, by=by, now=now, seq=seq)


@requires("scheduling.run_case")
@require_POST
def start(request: PersonsRequest, pk: int) -> HttpResponse:
    case = case_for(request.person, pk)

    def act() -> str:
        start_case(case=case, by=request.person, now=case.site.now())
        return f"Case {case.ref} has started."

    return _done(request, case, act)


@requires("scheduling.run_case")
@require_POST
def end(request: PersonsRequest, pk: int) -> HttpResponse:
    case = case_for(request.person, pk)

    def act() -> str:
        end_case(case=case, by=request.person, now=case.site.now())
        return f"Case {case.ref} has ended. What was not used is asked for below."

    return _done(request, case, act)


def _done(
    request: PersonsRequest, case: Case, act: Callable[[], str], again: str = ""
) -> HttpResponse:
    """Do it and say so, or say why not; `again`: what the page shows after a refusal."""
    here = reverse("in_theatre", args=[case.pk])
    try:
        messages.success(request, act())
    except AnyRefused as refusal:
        messages.error(request, f"Not recorded. {refusal.say()}")
        return redirect(here + again)
    return redirect(here)
