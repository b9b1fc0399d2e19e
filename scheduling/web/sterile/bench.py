"""The bench: choose what you are doing, then scan; the tray moves, or it stops with both values."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.sterile.forecast import forecast_at
from scheduling.sterile.issuing import trays_of, why_not
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile import answers
from scheduling.web.sterile.answers import Answer
from scheduling.web.sterile.reading import case_scanned, machine_scanned, tray_scanned
from trays.access import tray_for
from trays.models import Machine, MachineKind, Tray
from trays.operations.bench import put_tray_at, take_tray_to
from trays.operations.counts import begin_count
from trays.operations.loads import open_load
from trays.operations.returns import note_return
from trays.queries import trays_at
from trays.stages import Stage
from trays.stations import STATIONS, Station, station_scanned

BENCH = ("trays.process_trays", "trays.return_trays")
MACHINES = {Stage.CLEANING: MachineKind.WASHER, Stage.STERILISING: MachineKind.STERILISER}
SHOWN = {
    "cleaning": (Stage.RETURNED_USED, Stage.CLEANING),
    "assembly": (Stage.CLEANING, Stage.ASSEMBLY),
    "packing": (Stage.ASSEMBLY, Stage.PACKED),
    "sterilising": (Stage.PACKED, Stage.STERILISING),
    "store": (Stage.STERILE_STORE,),
    "issue": (Stage.ISSUED,),
    "theatre": (Stage.ISSUED, Stage.IN_THEATRE),
    "returned": (Stage.IN_THEATRE, Stage.RETURNED_USED),
}


@requires(*BENCH)
@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: PersonsRequest) -> HttpResponse:
    """What are you doing?  By number key, by a press, or by the code on the wall."""
    stations = [one for one in STATIONS.values() if request.user.has_perm(one.permission)]
    if request.method == "POST":
        text = request.POST.get("text", "").strip()
        by_number = dict(enumerate(stations, start=1))
        station = station_scanned(text) or STATIONS.get(text.lower())
        if station is None and text.isdecimal():
            station = by_number.get(int(text))
        if text.lower() == "i" and request.user.has_perm("trays.process_trays"):
            return redirect("instruments")
        machine = None if station else machine_scanned(request.person.site, text)
        if station is not None:
            return redirect("bench_station", station.slug)
        if machine is not None:
            return _to_load(request, machine)
        if not text:
            return redirect("bench")
        return answers.answered(
            request,
            answers.stop(
                "This is no station and no machine.",
                asked="the code of a station or machine, or a station's number",
                read=text[:80],
            ),
        )
    page = {"stations": stations, "answer": answers.kept(request)}
    return render(request, "scheduling/sterile/bench.html", page)


@requires(*BENCH)
@require_http_methods(["GET", "HEAD", "POST"])
def station(request: PersonsRequest, slug: str) -> HttpResponse:
    """One station.  POST: what was scanned there."""
    here = STATIONS.get(slug)
    if here is None:
        raise Http404("no such station")
    if not request.user.has_perm(here.permission):
        raise PermissionDenied
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\0", "").strip()
        if "from_theatre" in request.POST and here.slug == "returned":
            return answers.answered(request, _from_theatre(request, here))
        if not text:
            return redirect(request.get_full_path())
        answer = _scanned(request, here, text)
        if isinstance(answer, HttpResponse):
            return answer
        return answers.answered(request, answer)
    site = request.person.site
    last = answers.kept(request)
    said = request.GET.get("said", "")[:64]
    case = case_scanned(site, said) if here.first == "case" and said else None
    trays = trays_at(site, SHOWN[slug])
    page = {
        "station": here,
        "said": said,
        "of_case": trays_of(case) if case else [],
        "machines": Machine.objects.filter(site=site, kind=MACHINES[here.stage])
        if here.stage in MACHINES
        else (),
        "trays": [
            (tray, site.local(tray.since))  # type: ignore[attr-defined]
            for tray in trays
        ],
        "has_come_back": here.stage == Stage.RETURNED_USED
        and last is not None
        and any(tray.code == last.about and tray.stage == here.stage for tray in trays),
        "answer": last,
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/station.html", page)


def _scanned(request: PersonsRequest, here: Station, text: str) -> Answer | HttpResponse:
    site = request.person.site
    other = station_scanned(text)
    if other is not None:
        return redirect("bench_station", other.slug)
    machine = machine_scanned(site, text)
    if machine is not None:
        return _to_load(request, machine)
    said = request.GET.get("said", "")[:64]
    tray = tray_scanned(site, text)
    if here.first == "case" and isinstance(tray, str):
        case = case_scanned(site, text)
        if case is not None:
            return _at(here, case.ref)
    if here.first == "place" and isinstance(tray, str):
        return _at(here, text[:64])
    if isinstance(tray, str):
        return answers.stop(tray, asked=_wanted(here, said), read=text[:80])
    return _act(request, here, tray, said)


def _wanted(here: Station, said: str) -> str:
    if here.first == "case" and not said:
        return "a case that is not over, or its pick list; then its trays"
    if here.first == "machine":
        return f"a {MACHINES[here.stage].value}, then its trays"
    return f"a tray, for {here.name.lower()}"


def _from_theatre(request: PersonsRequest, here: Station) -> Answer:
    """What theatre says of the tray that was scanned last."""
    tray = tray_for(request.person, request.POST.get("from_theatre", ""))
    is_open = "count_open" in request.POST
    try:
        note_return(
            tray=tray,
            note=request.POST.get("note", ""),
            count_open=is_open,
            by=request.person,
            now=request.person.site.now(),
        )
    except Refused as refusal:
        return answers.refused(refusal, tray, here.name.lower())
    if is_open:
        held = (
            f"Held: its count was not closed. A named person closes it on tray {tray.code}’s page."
        )
        return Answer("ask", "HELD", held, f"tray {tray.code}")
    return Answer("matches", "NOTED", "Theatre’s note goes with it.", f"tray {tray.code}")


def _act(request: PersonsRequest, here: Station, tray: Tray, said: str) -> Answer | HttpResponse:
    site = request.person.site
    now = site.now()
    who: dict[str, Any] = {"by": request.person, "now": now}
    doing = here.name.lower()
    if here.first == "machine":
        return _needs_machine(site, here, tray, who)
    try:
        if here.slug == "packing":
            return redirect("pack_tray", tray.pk)
        if here.slug == "store":
            put_tray_at(tray=tray, place=said, **who)
            return answers.moved(tray, f"now lies at {said}")
        case_ref = ""
        if here.slug == "issue":
            case = case_scanned(site, said)
            if case is None:
                return answers.stop(
                    "For which case? Scan or type the case first.",
                    asked="a case that is not over",
                    read=f"tray {tray.code}",
                )
            in_store = tray.stage == Stage.STERILE_STORE
            if in_store and (stop := why_not(tray=tray, case=case, now=now)):
                return answers.stop(**asdict(stop), tray=tray)
            case_ref = case.ref
        there = take_tray_to(
            tray=tray,
            stage=here.stage,
            case_ref=case_ref,
            station=doing,
            forecast=forecast_at(site, now),
            **who,
        )
    except Refused as refusal:
        if refusal.code == "already" and here.slug == "assembly":
            return _to_count(tray, who)
        return answers.refused(refusal, tray, doing)
    if here.slug == "assembly":
        return _to_count(there, who)
    return answers.moved(there, f"now {there.stage}{f' to case {case_ref}' if case_ref else ''}")


def _to_count(tray: Tray, who: dict[str, Any]) -> HttpResponse:
    begin_count(tray=tray, **who)
    return redirect("count_tray", tray.pk)


def _needs_machine(
    site: Any, here: Station, tray: Tray, who: dict[str, Any]
) -> Answer | HttpResponse:
    """A tray where a machine is wanted first: by hand only where the house has no such machine."""
    kind = MACHINES[here.stage]
    if kind is MachineKind.WASHER and not Machine.objects.filter(site=site, kind=kind).exists():
        try:
            there = take_tray_to(
                tray=tray, stage=here.stage, forecast=forecast_at(site, who["now"]), **who
            )
        except Refused as refusal:
            return answers.refused(refusal, tray, here.name.lower())
        return answers.moved(there, f"now {there.stage}")
    return answers.stop(
        f"In which {kind.value}? Scan the {kind.value} first.",
        asked=f"a {kind.value}",
        read=f"tray {tray.code}",
    )


def _to_load(request: PersonsRequest, machine: Machine) -> HttpResponse:
    if not request.user.has_perm("trays.process_trays"):
        raise PermissionDenied
    try:
        load = open_load(machine=machine, by=request.person, now=request.person.site.now())
    except Refused:
        running = machine.loads.order_by("-number").first()
        return redirect("load", running.pk) if running else redirect("loads")
    return redirect("load", load.pk)


def _at(here: Station, said: str) -> HttpResponse:
    return redirect(f"{reverse('bench_station', args=[here.slug])}?{urlencode({'said': said})}")
