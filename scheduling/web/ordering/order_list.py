"""The order list of today: what to order, why, by when; one press makes the orders."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.access import implants_for, units_for
from implants.models import Owner, Terms
from implants.operations.orders.making import Asked, make_orders
from implants.operations.replacements import settle_without_order
from scheduling.operations.gap_notes import note_gap
from scheduling.ordering.house_stock import house_stock
from scheduling.ordering.on_it import OnIt, on_it
from scheduling.ordering.todays_list import todays_list
from scheduling.ordering.values import AskLine, ToOrder
from scheduling.ordering.words import reckoning, terms_in_words, why_in_words
from scheduling.queries import coverage_now
from scheduling.web.orders import orders
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import answer, case_pks, short_dated_days

MOST = 999


@requires("scheduling.read_cases")
@require_safe
def to_order(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    pks = case_pks(site)
    people = on_it(site)
    rows = todays_list(coverage.scenario, coverage.report, house_stock(site))
    page = {
        "orders": orders(
            coverage.scenario,
            coverage.report,
            case_pks=pks,
            short_dated_days=short_dated_days(site),
        ),
        "rows": [row_view(row, pks, people.get(row.ref)) for row in rows if row.lines],
        "too_late": [row_view(row, pks, people.get(row.ref)) for row in rows if row.too_late],
        "may_order": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "ordering/to_order", coverage, page)


def row_view(row: ToOrder, pks: dict[str, int], who: OnIt | None) -> dict[str, Any]:
    """One row as the template shows it."""
    return {
        "row": row,
        "on_it": who,
        "wants": [(want, pks.get(want.case)) for want in row.wants],
        "too_late": [(want, pks.get(want.case)) for want in row.too_late],
        "why": list(why_in_words(row))[len(row.wants) :],
        "reckoning": reckoning(row),
        "asks": [
            {
                "line": line,
                "key": key_of(row.ref, line),
                "words": terms_in_words(line.owner, line.terms),
            }
            for line in row.lines
        ],
    }


def key_of(ref: str, line: AskLine) -> str:
    """What a form calls a line.  A REF may hold any character, so it comes last."""
    return f"{line.owner}|{Terms(line.terms).name}|{ref}"


@requires("implants.order_implants")
@require_POST
def make(request: PersonsRequest) -> HttpResponse:
    """The chosen lines become drafts, one a supplier, each line with its reason as of now."""
    site = request.person.site
    try:
        made = make_orders(asked=list(_asked(request)), by=request.person, now=site.now())
    except (Refused, ValueError) as refused:
        messages.error(request, str(refused))
        return redirect("to_order")
    messages.success(request, "On draft: " + ", ".join(order.code for order in made) + ".")
    return redirect("order", code=made[0].code) if len(made) == 1 else redirect("orders")


def _asked(request: PersonsRequest) -> Iterator[Asked]:
    """ValueError for a number or a line that the page cannot have sent."""
    coverage = coverage_now(request.person.site)
    today = todays_list(coverage.scenario, coverage.report, house_stock(request.person.site))
    why = {row.ref: "\n".join(why_in_words(row)) for row in today}
    chosen = request.POST.getlist("line")
    refs = {key.split("|", 2)[-1] for key in chosen}
    implants = {
        implant.ref: implant
        for implant in implants_for(request.person)
        .filter(ref__in=refs)
        .select_related("supplier", "superseded_by")
    }
    for key in chosen:
        owner, terms, ref = (*key.split("|", 2), "", "")[:3]
        if owner not in Owner.values or terms not in Terms.names or ref not in implants:
            raise ValueError("That line is not on the list any more. Look at it again.")
        number = request.POST.get(f"quantity {key}", "")
        if not number.isdecimal() or not 1 <= int(number) <= MOST:
            raise ValueError(f"{ref}: a number from 1 to {MOST}.")
        yield Asked(implants[ref], Owner(owner), Terms[terms], int(number), why.get(ref, ""))


@requires("implants.order_implants")
@require_POST
def note(request: PersonsRequest) -> HttpResponse:
    """Take a gap on, or say that it is done with."""
    implant = get_object_or_404(implants_for(request.person), ref=request.POST.get("ref", ""))
    try:
        note_gap(
            implant=implant,
            note=request.POST.get("note", ""),
            done="done" in request.POST,
            by=request.person,
            now=request.person.site.now(),
        )
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("to_order")


@requires("implants.order_implants")
@require_POST
def settle_use(request: PersonsRequest) -> HttpResponse:
    """A used box is not replaced, and why."""
    pk = request.POST.get("box", "")
    unit = get_object_or_404(units_for(request.person), pk=pk if pk.isdecimal() else 0)
    note = request.POST.get("note", "").strip()
    try:
        settle_without_order(unit=unit, note=note, by=request.person, now=request.person.site.now())
        messages.success(request, f"{unit.code}: no order follows.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("to_order")
