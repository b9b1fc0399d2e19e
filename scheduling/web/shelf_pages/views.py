"""The shelf: its grid, one item over time, use-by dates and what goes back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.access import units_for
from implants.models import Unit
from implants.operations.returns import return_boxes
from implants.states import UnitState
from scheduling.access import cases_for
from scheduling.operations.late_entries import enter_taken_for
from scheduling.ordering.house_stock import par_in_force
from scheduling.ordering.leaning import leaning_on_units
from scheduling.queries import coverage_now
from scheduling.shelf.stock_over_time import stock_over_time
from scheduling.shelf.use_by import OWNERS, bands, short_dated
from scheduling.web.requests import PersonsRequest
from scheduling.web.shelf import shelf_lines
from scheduling.web.shelf_pages.stock_picture import stock_picture
from scheduling.web.views import OPEN_CASES, answer, case_pks, short_dated_days
from scheduling.words import item_in_words


@requires("implants.read_shelf")
@require_safe
def shelf(request: PersonsRequest) -> HttpResponse:
    """`?owner=`: only boxes that are owned, on consignment, or on loan."""
    site = request.person.site
    coverage = coverage_now(site)
    owner = request.GET.get("owner", "")
    scenario = coverage.scenario
    if owner in OWNERS:
        mine = {code: unit for code, unit in scenario.shelf.items() if unit.owner == owner}
        scenario = replace(scenario, shelf=mine)
    page = {
        "lines": shelf_lines(scenario, coverage.report, short_dated_days=short_dated_days(site)),
        "owners": OWNERS,
        "owner": owner if owner in OWNERS else "",
        "may_read_cases": request.user.has_perm("scheduling.read_cases"),
    }
    return answer(request, "shelf/grid", coverage, page)


@requires("scheduling.read_cases")
@require_safe
def item(request: PersonsRequest, ref: str) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    scenario, report = coverage.scenario, coverage.report
    if ref not in scenario.implants:
        raise Http404("no such item")
    level = par_in_force(site).get(ref)
    stock = stock_over_time(scenario, report, ref)
    reorder_point = level - 1 if level else None
    promises = leaning_on_units(report)
    pks = case_pks(site)
    boxes = [
        (unit, promises.get(unit.code), site.local(unit.arrives) if unit.arrives else None)
        for unit in scenario.shelf.values()
        if unit.implant == ref
    ]
    boxes.sort(key=lambda row: (row[0].expiry is None, row[0].expiry, row[0].code))
    page = {
        "ref": ref,
        "words": item_in_words(scenario, ref),
        "stock": stock,
        "events": [
            (event, pks.get(event.who)) for event in stock.wanted.events if event.day <= stock.until
        ],
        "picture": stock_picture(stock, reorder_point),
        "par": level,
        "reorder_point": reorder_point,
        "boxes": [
            (unit, promise, arrives, pks.get(promise.case) if promise else None)
            for unit, promise, arrives in boxes
        ],
        "to_take": Unit.objects.filter(
            site=site, implant__ref=ref, state=UnitState.ON_THE_SHELF
        ).order_by("expiry", "code"),
        "cases": sorted(pks),
        "may_enter": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "shelf/item", coverage, page)


@requires("scheduling.read_cases")
@require_safe
def use_by(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    days = short_dated_days(site)
    pks = case_pks(site)
    dated = short_dated(coverage.scenario, coverage.report, days)
    seqs = dict(
        Unit.objects.filter(site=site, code__in=[each.unit.code for each in dated]).values_list(
            "code", "seq"
        )
    )
    boxes = [
        {
            "dated": each,
            "words": item_in_words(coverage.scenario, each.unit.implant),
            "pk": pks.get(each.promise.case) if each.promise else None,
            "key": f"{seqs[each.unit.code]}|{each.unit.code}",
        }
        for each in dated
    ]
    page = {
        "bands": bands(coverage.scenario, coverage.report),
        "owners": OWNERS,
        "days": days,
        "months": [_month(of_month) for _, of_month in groupby(boxes, _month_of)],
        "on_hold": sorted(
            (
                (unit, item_in_words(coverage.scenario, unit.implant))
                for unit in coverage.scenario.shelf.values()
                if unit.hold and unit.arrives is None
            ),
            key=lambda pair: pair[0].code,
        ),
        "may_return": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "shelf/use_by", coverage, page)


def _month_of(box: dict[str, Any]) -> tuple[int, int]:
    day = box["dated"].unit.expiry
    return day.year, day.month


def _month(boxes: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """The boxes of one month, the first to expire first; `free`: for no booked case."""
    found = list(boxes)
    free = sum(box["dated"].promise is None for box in found)
    return {"first": found[0]["dated"].unit.expiry, "boxes": found, "free": free}


@requires("implants.order_implants")
@require_POST
def send_back(request: PersonsRequest) -> HttpResponse:
    """The chosen boxes go back to their supplier, all or none."""
    chosen: dict[str, Any] = {}
    for key in request.POST.getlist("box"):
        seq, _, code = key.partition("|")
        chosen[code] = int(seq) if seq.isdecimal() and len(seq) < 10 else -1
    units = units_for(request.person).select_related("order_line__order__supplier")
    found = [(unit, chosen[unit.code]) for unit in units.filter(code__in=chosen)]
    if not found:
        messages.error(request, "Choose at least one box.")
        return redirect("use_by")
    try:
        gone = return_boxes(
            units=found,
            reason=request.POST.get("reason", "").strip()[:120],
            for_credit="credit" in request.POST,
            by=request.person,
            now=request.person.site.now(),
        )
        messages.success(request, f"Gone back: {', '.join(unit.code for unit in gone)}.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("use_by")


@requires("implants.order_implants")
@require_POST
def taken(request: PersonsRequest) -> HttpResponse:
    """A box that was taken at night without a scan is entered afterwards, with who took it."""
    seq, _, code = request.POST.get("box", "").partition("|")
    unit = units_for(request.person).filter(code=code).first()
    ref = request.POST.get("case", "")
    case = cases_for(request.person).filter(ref=ref, status__in=OPEN_CASES).first()
    if unit is None or case is None:
        raise Http404("no such box or case")
    try:
        enter_taken_for(
            case=case,
            unit=unit,
            who=request.POST.get("who", ""),
            by=request.person,
            now=request.person.site.now(),
            seq=int(seq) if seq.isdecimal() and len(seq) < 10 else -1,
        )
        messages.success(request, f"{unit.code} is picked for case {case.ref}.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("shelf_item", ref=unit.implant.ref)
