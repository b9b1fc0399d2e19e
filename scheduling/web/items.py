"""What a phone sees behind the code of a line: the box or tray, where it is, for whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from deploy.kit.models import Person
from implants.models import Unit
from implants.states import STOCK, UnitState
from scheduling.access import cases_for
from scheduling.models import TrayReservation, UnitReservation
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import BoxRead, TrayRead
from scheduling.queries import Coverage, coverage_now
from scheduling.web.requests import PersonsRequest
from trays.models import Tray

READS_ITEMS = ("implants.read_shelf", "trays.read_trays")


@dataclass(frozen=True, slots=True)
class BoxView:
    """`reserved_for`, `meant_for`: the case, or "another case" where the person may not read it."""

    unit: Unit
    expired: bool
    expected: datetime | None
    reserved_for: str
    meant_for: str


@requires(*READS_ITEMS)
@require_safe
def implant_link(request: PersonsRequest, rest: str) -> HttpResponse:
    """`/01/{gtin}/10/{lot}/21/{serial}`"""
    return _item(request, request.build_absolute_uri())


@requires(*READS_ITEMS)
@require_safe
def tray_link(request: PersonsRequest, giai: str) -> HttpResponse:
    """`/8004/{giai}`"""
    return _item(request, giai)


@requires(*READS_ITEMS)
@require_safe
def house_link(request: PersonsRequest, code: str) -> HttpResponse:
    """`/u/{code of a box or tray}`"""
    return _item(request, code)


def _item(request: PersonsRequest, text: str) -> HttpResponse:
    """About 30 queries, most of them the coverage."""
    site = request.person.site
    what, _ = read(text, site=site, today=site.local(site.now()).date())
    if isinstance(what, BoxRead) and what.item is not None:
        return _box_page(request, what)
    if isinstance(what, TrayRead) and what.code:
        return _tray_page(request, what.code)
    raise Http404("nothing of this site has this code")


def _box_page(request: PersonsRequest, what: BoxRead) -> HttpResponse:
    assert what.item is not None
    site = request.person.site
    coverage = coverage_now(site)
    units = Unit.objects.filter(
        site=site, implant__ref=what.item.ref, state__in=STOCK
    ).select_related("implant")
    if what.code:
        # One that is named is shown wherever it is.
        units = Unit.objects.filter(site=site).select_related("implant")
        units = units.filter(code=what.code)
    elif what.serial:
        units = units.filter(Q(serial=what.serial))
    elif what.lot:
        units = units.filter(lot=what.lot)
    reserved = dict(
        UnitReservation.objects.filter(unit__in=units, freed_at=None).values_list(
            "unit_id", "case__ref"
        )
    )
    meant = {
        code: report.case
        for report in coverage.report.cases
        for line in report.lines
        for code in line.units
    }
    today = site.local(site.now()).date()
    shown = _shown_to(request.person)
    boxes = [
        BoxView(
            unit=unit,
            expired=_is_before(unit.expiry, today),
            expected=site.local(unit.expected_at) if unit.expected_at else None,
            reserved_for=shown.of(
                unit.case_ref if unit.state == UnitState.PICKED else reserved.get(unit.pk, "")
            ),
            meant_for=shown.of(meant.get(unit.code, "")),
        )
        for unit in units
    ]
    page = {"item": what.item, "boxes": boxes, "lot": what.lot, "serial": what.serial}
    return _answer(request, coverage, page)


def _tray_page(request: PersonsRequest, code: str) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    tray = Tray.objects.select_related("configuration").get(site=site, code=code)
    shown = _shown_to(request.person)
    reserved = (
        TrayReservation.objects.filter(tray=tray, freed_at=None)
        .order_by("case__start")
        .values_list("case__ref", flat=True)
    )
    meant = [
        report.case
        for report in coverage.report.cases
        if code in report.packs or any(code in each.trays for each in report.sets)
    ]
    page = {
        "tray": tray,
        "missing": list(tray.missing_lines.select_related("instrument")),
        "ready": site.local(tray.ready_at) if tray.ready_at else None,
        "expected": site.local(tray.expected_at) if tray.expected_at else None,
        "sterile_until": site.local(tray.sterile_until) if tray.sterile_until else None,
        "reserved_for": [shown.of(ref) for ref in reserved],
        "meant_for": [shown.of(ref) for ref in meant],
    }
    return _answer(request, coverage, page)


def _answer(request: PersonsRequest, coverage: Coverage, page: dict[str, object]) -> HttpResponse:
    as_of = request.person.site.local(coverage.report.now)
    return render(request, "scheduling/item.html", {"as_of": as_of, **page})


def _is_before(expiry: date | None, today: date) -> bool:
    return expiry is not None and expiry < today


@dataclass(frozen=True, slots=True)
class _Shown:
    refs: frozenset[str]

    def of(self, ref: str) -> str:
        return ref if not ref or ref in self.refs else "another case"


def _shown_to(person: Person) -> _Shown:
    """The cases whose reference the person may see.  One query."""
    return _Shown(frozenset(cases_for(person).values_list("ref", flat=True)))
