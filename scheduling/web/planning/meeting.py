"""The morning meeting: the day's lists in another order, what that does, and then as one change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.models import Site
from scheduling.confirming import basis_kept, basis_of, what_changed
from scheduling.coverage.report import Verdict
from scheduling.errors import Refused
from scheduling.lists import Slot, gaps_between, reordered
from scheduling.models import Case, CaseDecision, CaseStatus, Decision, Theatre
from scheduling.operations.cases import Move, moved_to
from scheduling.operations.decisions import plan_numbers
from scheduling.operations.meeting import agree_lists
from scheduling.operations.reservations import what_moves_free
from scheduling.pick_lists.standing import printed_lists
from scheduling.queries import Coverage, coverage_now
from scheduling.theatre_lists import cases_on, slot_of
from scheduling.web.planning.bookings import with_moved
from scheduling.web.planning.orders import Orders, after_press, orders_of, read_orders
from scheduling.web.requests import PersonsRequest
from scheduling.what_then import WhatThen, what_then


@dataclass(frozen=True, slots=True)
class MeetingLine:
    """One case on its new list.  Moments are local; `gap`: minutes after the case before."""

    case: Case
    start: datetime
    end: datetime
    was: datetime
    was_in: str
    moved: bool
    fixed: bool
    gap: int | None
    before: Verdict | None
    after: Verdict | None


@dataclass(frozen=True, slots=True)
class MeetingList:
    theatre: Theatre | None
    lines: tuple[MeetingLine, ...]
    others: tuple[Theatre, ...]


@requires("scheduling.book_case")
@require_http_methods(["GET", "HEAD", "POST"])
def meeting(request: PersonsRequest, day: date) -> HttpResponse:
    """GET: the lists as booked.  POST: one step more in the form's own order, or apply it."""
    site = request.person.site
    cases = {case.ref: case for case in cases_on(site, day)}
    theatres = list(Theatre.objects.filter(site=site))
    orders = orders_of(cases.values())
    act = request.POST.get("act", "")
    if request.method == "POST":
        orders = after_press(
            read_orders(request.POST, cases, theatres), act, _fixed(cases), theatres
        )
    new = _slots(cases, orders, theatres)
    moves = _moves(request, cases, new, theatres)
    if act == "apply":
        return _apply(request, day, moves)
    coverage = coverage_now(site)
    page = {
        "day": day,
        "orders": [(key, ",".join(refs)) for key, refs in orders.items()],
        "was": [
            (case.pk, request.POST.get(f"was-{case.pk}") or case.start.isoformat())
            for case in cases.values()
        ],
        "moves": moves,
        "pressed": act,
        "as_of": site.local(coverage.report.now),
        **_consequences(site, coverage, cases, orders, new, moves, theatres),
    }
    response = render(request, "scheduling/planning/meeting.html", page)
    add_never_cache_headers(response)
    return response


def _fixed(cases: dict[str, Case]) -> frozenset[str]:
    return frozenset(ref for ref, case in cases.items() if case.status != CaseStatus.BOOKED)


def _slots(cases: dict[str, Case], orders: Orders, theatres: list[Theatre]) -> dict[str, Slot]:
    """Every case at its new hours, by reference."""
    codes = {theatre.pk: theatre.code for theatre in theatres}
    old = {ref: slot_of(case) for ref, case in cases.items()}
    found: dict[str, Slot] = {}
    for key, refs in orders.items():
        code = codes.get(key, "")
        before = [slot for slot in old.values() if slot.theatre == code]
        same = [slot.ref for slot in before] == list(refs)
        order = [replace(old[ref], theatre=code) for ref in refs]
        # A list that nobody touched stays to the minute, clashes and all.
        placed = order if same or not key else reordered(before, order)
        found |= {slot.ref: slot for slot in placed}
    return found


def _moves(
    request: PersonsRequest,
    cases: dict[str, Case],
    new: dict[str, Slot],
    theatres: list[Theatre],
) -> list[Move]:
    by_code = {theatre.code: theatre for theatre in theatres}
    return [
        Move(
            case,
            start=new[ref].start,
            theatre=by_code.get(new[ref].theatre),
            was=parse_datetime(request.POST.get(f"was-{case.pk}", "")),
        )
        for ref, case in cases.items()
        if (new[ref].start, new[ref].theatre) != (case.start, _code(case))
    ]


def _code(case: Case) -> str:
    return case.theatre.code if case.theatre else ""


def _apply(request: PersonsRequest, day: date, moves: list[Move]) -> HttpResponse:
    if not moves:
        messages.error(request, "Nothing is in another place than before: nothing was changed.")
        return redirect("meeting", day)
    try:
        agreed = agree_lists(moves=moves, by=request.person, now=request.person.site.now())
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect("meeting", day)
    said = f"{len(moves)} case{'s' if len(moves) > 1 else ''} moved as one change."
    if agreed.told:
        said += f" {agreed.told} {'people were' if agreed.told > 1 else 'person was'} told."
    if words := agreed.freed.in_words():
        said += f" No longer reserved: {'; '.join(words)}."
    messages.success(request, said)
    return redirect("day", day)


def _consequences(
    site: Site,
    coverage: Coverage,
    cases: dict[str, Case],
    orders: Orders,
    new: dict[str, Slot],
    moves: list[Move],
    theatres: list[Theatre],
) -> dict[str, Any]:
    lines = {ref: (case.start, _code(case)) for ref, case in cases.items()}
    moved = [moved_to(move.case, replace(move, was=None)) for move in moves]
    freed = what_moves_free(moved, coverage.scenario.site.now) if moved else None
    then = what_then(
        coverage, with_moved(coverage.scenario, moved, freed) if freed else coverage.scenario
    )
    touched = [*(case.ref for case in moved), *(one.ref for one in then.cases)]
    after = then.after
    return {
        "lists": _lists(site, coverage, then, cases, orders, new, lines, theatres),
        "clashes": [gap for gap in gaps_between(new.values()) if gap.is_clash],
        "others": then.others(list(cases)),
        "changed_here": [one for one in then.cases if one.ref in cases],
        "freed": freed.in_words() if freed else (),
        "void_lists": printed_lists(site, touched).void(after.scenario, after.report)
        if moved
        else (),
        "lapsing": _lapsing(site, then) if moved else [],
    }


def _lists(
    site: Site,
    coverage: Coverage,
    then: WhatThen,
    cases: dict[str, Case],
    orders: Orders,
    new: dict[str, Slot],
    lines: dict[str, tuple[datetime, str]],
    theatres: list[Theatre],
) -> list[MeetingList]:
    old = {one.case: one.verdict for one in coverage.report.cases}
    now = {one.case: one.verdict for one in then.after.report.cases}
    gaps = {gap.second: gap.minutes for gap in gaps_between(new.values())}
    by_key: dict[int, Theatre | None] = {theatre.pk: theatre for theatre in theatres}
    return [
        MeetingList(
            by_key.get(key),
            tuple(
                MeetingLine(
                    case=cases[ref],
                    start=site.local(new[ref].start),
                    end=site.local(new[ref].end),
                    was=site.local(lines[ref][0]),
                    was_in=lines[ref][1],
                    moved=(new[ref].start, new[ref].theatre) != lines[ref],
                    fixed=new[ref].fixed,
                    gap=gaps.get(ref),
                    before=old.get(ref),
                    after=now.get(ref),
                )
                for ref in refs
            ),
            tuple(theatre for theatre in theatres if theatre.pk != key),
        )
        for key, refs in orders.items()
    ]


def _lapsing(site: Site, then: WhatThen) -> list[str]:
    """The cases whose confirmation would lapse.  2 queries."""
    standing: dict[str, CaseDecision] = {}
    decisions = CaseDecision.objects.filter(case__site=site, case__status=CaseStatus.BOOKED)
    for one in decisions.select_related("case", "lapse").order_by("pk"):
        standing[one.case.ref] = one
    plans = plan_numbers(site)
    after = then.after
    return [
        ref
        for ref, one in sorted(standing.items())
        if one.decision == Decision.CONFIRMED
        and not hasattr(one, "lapse")
        and ref in after.scenario.cases
        and what_changed(
            basis_kept(one.rests_on),
            basis_of(after.scenario, after.report, ref, plans.get(one.case_id, 0)),
        )
    ]
