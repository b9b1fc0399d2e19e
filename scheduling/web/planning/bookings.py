"""Book, move and cancel a case: what it would do to every case first, then done as one change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.doors import requires
from scheduling.access import case_to_book
from scheduling.coverage.values import Priority, Scenario
from scheduling.errors import Refused
from scheduling.lists import Gap, gaps_between
from scheduling.models import Case, CaseStatus, Side, Surgeon
from scheduling.operations.cases import Move, book_case, cancel_case, move_cases, moved_to
from scheduling.operations.decisions import lapses_now
from scheduling.operations.reservations import Freed, what_moves_free
from scheduling.pick_lists.standing import VoidList, printed_lists
from scheduling.queries import Coverage, coverage_now
from scheduling.theatre_lists import slots_of
from scheduling.web.planning.booking_form import BookingForm, WhenForm
from scheduling.web.requests import PersonsRequest
from scheduling.what_then import WhatThen, what_then

BOOKERS = ("scheduling.book_case", "scheduling.book_own_case")


@dataclass(frozen=True, slots=True)
class Consequences:
    """What a move or a cancellation would do.  `clashes`: on the day, in that theatre."""

    then: WhatThen
    freed: tuple[str, ...]
    void_lists: tuple[VoidList, ...]
    clashes: tuple[Gap, ...] = ()


@requires(*BOOKERS)
@require_http_methods(["GET", "HEAD", "POST"])
def book(request: PersonsRequest) -> HttpResponse:
    """A new case, without a plan yet: it takes nothing from any other."""
    form = BookingForm(request.person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            case = book_case(
                ref=given["ref"],
                start=given["moment"],
                minutes=given["minutes"],
                side=Side(given["side"]),
                theatre=given["theatre"],
                surgeon=_surgeon(request, given.get("surgeon")),
                priority=Priority(given["priority"]),
                by=request.person,
                now=request.person.site.now(),
            )
        except Refused as refused:
            form.add_error(None, refused.say())
        else:
            messages.success(request, f"Case {case.ref} is booked. Its plan comes next.")
            return redirect("case", pk=case.pk)
    status = 400 if form.errors else 200
    return render(request, "scheduling/planning/book.html", {"form": form}, status=status)


def _surgeon(request: PersonsRequest, chosen: Surgeon | None) -> Surgeon | None:
    if request.user.has_perm("scheduling.book_case"):
        return chosen
    own = Surgeon.objects.filter(user=request.person.user).first()
    if own is None:
        raise PermissionDenied("This account is no surgeon's.")
    return own


@requires(*BOOKERS)
@require_http_methods(["GET", "HEAD", "POST"])
def move(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: when and where it is now.  POST: show what a move would do, or move it."""
    case = case_to_book(request.person, pk)
    if case.status != CaseStatus.BOOKED:
        return _too_late(request, case)
    if request.method == "POST" and request.POST.get("act") == "move":
        form = WhenForm(request.person, request.POST)
        if form.is_valid():
            return _moved(request, case, form)
    return _move_page(request, case, "move")


@requires(*BOOKERS)
@require_POST
def move_preview(request: PersonsRequest, pk: int) -> HttpResponse:
    """The parts of the page that a change of the form changes.  Saves nothing."""
    case = case_to_book(request.person, pk)
    if case.status != CaseStatus.BOOKED:
        return HttpResponse(status=409)
    return _move_page(request, case, "_move_preview")


@requires(*BOOKERS)
@require_http_methods(["GET", "HEAD", "POST"])
def cancel(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: what would be free, and who gains by it.  POST: cancel."""
    case = case_to_book(request.person, pk)
    if case.status != CaseStatus.BOOKED:
        return _too_late(request, case)
    if request.method == "POST":
        try:
            cancel_case(case=case, by=request.person, now=case.site.now())
        except Refused as refused:
            messages.error(request, refused.say())
        else:
            lapses_now(site=case.site, changed=case, by=request.person)
            messages.success(request, f"Case {case.ref} is cancelled; what it held is free.")
        return redirect("case", pk=pk)
    coverage = coverage_now(case.site)
    found = _cancelled(case, coverage)
    page = {
        "case": case,
        "found": found,
        "others": found.then.others([case.ref]),
        **_head(case, coverage),
    }
    return _answer(request, "cancel", page)


def _too_late(request: PersonsRequest, case: Case) -> HttpResponse:
    messages.error(request, f"Case {case.ref} is {case.status}: it can't be moved or cancelled.")
    return redirect("case", pk=case.pk)


def _moved(request: PersonsRequest, case: Case, form: WhenForm) -> HttpResponse:
    try:
        freed = move_cases(
            moves=[_move(request, case, form)], by=request.person, now=case.site.now()
        )
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect("move", pk=case.pk)
    lapses_now(site=case.site, changed=case, by=request.person)
    messages.success(request, f"Case {case.ref} is moved.{_freed_sentence(freed)}")
    return redirect("case", pk=case.pk)


def _freed_sentence(freed: Freed) -> str:
    words = freed.in_words()
    return f" No longer reserved: {'; '.join(words)}." if words else ""


def _move(request: PersonsRequest, case: Case, form: WhenForm) -> Move:
    given = form.cleaned_data
    return Move(
        case,
        given["moment"],
        given["minutes"],
        given["theatre"],
        was=parse_datetime(request.POST.get("was", "")),
    )


def _move_page(request: PersonsRequest, case: Case, template: str) -> HttpResponse:
    coverage = coverage_now(case.site)
    sent = request.method == "POST"
    form = WhenForm(request.person, request.POST if sent else WhenForm.of(case))
    found = None
    if sent and form.is_valid():
        found = _after_move(case, _move(request, case, form), coverage)
    page = {
        "case": case,
        "form": form,
        "was": request.POST.get("was") or case.start.isoformat(),
        "found": found,
        **_head(case, coverage),
    }
    if found is not None:
        page["after"] = found.then.report(case.ref).verdict
        page["gaps"] = found.then.gaps(case.ref)
        page["others"] = found.then.others([case.ref])
    return _answer(request, template, page, 400 if sent and form.errors else 200)


def _head(case: Case, coverage: Coverage) -> dict[str, Any]:
    found = {report.case: report for report in coverage.report.cases}
    return {
        "start": case.site.local(case.start),
        "before": found[case.ref].verdict,
        "as_of": case.site.local(coverage.report.now),
    }


def _after_move(case: Case, asked: Move, coverage: Coverage) -> Consequences:
    """As the operation would do it, on values; the case is not saved."""
    moved = moved_to(case, replace(asked, was=None))
    freed = what_moves_free([moved], coverage.scenario.site.now)
    changed = with_moved(coverage.scenario, [moved], freed)
    then = what_then(coverage, changed)
    gaps = gaps_between(slots_of(moved.site, [moved.site.local(moved.start).date()], [moved]))
    return Consequences(
        then=then,
        freed=freed.in_words(),
        void_lists=_voided(case, then),
        clashes=tuple(gap for gap in gaps if gap.is_clash and case.ref in (gap.first, gap.second)),
    )


def _cancelled(case: Case, coverage: Coverage) -> Consequences:
    cases = {ref: one for ref, one in coverage.scenario.cases.items() if ref != case.ref}
    then = what_then(coverage, replace(coverage.scenario, cases=cases))
    held = coverage.scenario.cases[case.ref]
    words = [f"tray {code}" for code in held.reserved_trays]
    words += [f"box {code}" for code in held.reserved_units]
    return Consequences(then=then, freed=tuple(words), void_lists=_voided(case, then))


def _voided(case: Case, then: WhatThen) -> tuple[VoidList, ...]:
    lists = printed_lists(case.site, [case.ref, *(one.ref for one in then.cases)])
    return lists.void(then.after.scenario, then.after.report)


def with_moved(scenario: Scenario, moved: list[Case], freed: Freed) -> Scenario:
    """The scenario with the cases at their new hours, without what they let go."""
    cases = dict(scenario.cases)
    for case in moved:
        before = cases[case.ref]
        trays = {code for ref, code in freed.trays if ref == case.ref}
        boxes = {code for ref, code in freed.boxes if ref == case.ref}
        cases[case.ref] = replace(
            before,
            start=case.start,
            minutes=case.minutes,
            theatre=case.theatre.code if case.theatre else "",
            reserved_trays=tuple(code for code in before.reserved_trays if code not in trays),
            reserved_units=tuple(code for code in before.reserved_units if code not in boxes),
        )
    return replace(scenario, cases=cases)


def _answer(
    request: PersonsRequest, template: str, page: dict[str, Any], status: int = 200
) -> HttpResponse:
    response = render(request, f"scheduling/planning/{template}.html", page, status=status)
    add_never_cache_headers(response)
    return response
