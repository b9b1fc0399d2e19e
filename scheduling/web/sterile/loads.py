"""Loads: fill by scan, start, close with the measured values, read, release, withdraw."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import sign
from scheduling.sterile.forecast import forecast_at
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile import answers
from scheduling.web.sterile.answers import Answer
from scheduling.web.sterile.reading import machine_scanned, tray_scanned
from trays.access import load_for, loads_for
from trays.holding import CYCLES, Measured, f0
from trays.models import Load, LoadState, MachineKind
from trays.operations.loads import (
    close_load,
    has_implants_in_trays,
    open_load,
    put_into_load,
    start_load,
    take_out_of_load,
    trays_in,
)
from trays.operations.release import read_indicator, release_load, withdraw_load
from trays.stations import station_scanned

LATEST = 20
ACTS = {
    "start": "trays.process_trays",
    "out": "trays.process_trays",
    "close": "trays.process_trays",
    "indicator": "trays.release_loads",
    "release": "trays.release_loads",
    "withdraw": "trays.release_loads",
}
IN_HAND = (LoadState.RUNNING, LoadState.AWAITING_RELEASE)
"""While a load waits for what a person types of it, the scanner does not type into its page."""
SIGNED = {"release", "withdraw"}
"""What the person signs by PIN or password."""


@requires("trays.read_trays")
@require_safe
def loads(request: PersonsRequest) -> HttpResponse:
    """What is under way, then what was closed last."""
    found = loads_for(request.person)
    busy = (LoadState.OPEN, LoadState.RUNNING, LoadState.AWAITING_RELEASE)
    return render(
        request,
        "scheduling/sterile/loads.html",
        {
            "busy": found.filter(state__in=busy).order_by("pk"),
            "closed": found.exclude(state__in=busy)[:LATEST],
            "site": request.person.site,
        },
    )


@requires("trays.read_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def load(request: PersonsRequest, pk: int) -> HttpResponse:
    """One load.  POST: a scan, or an act upon the load."""
    shown = load_for(request.person, pk)
    if request.method == "POST":
        act = request.POST.get("act", "")
        if act in ACTS:
            return _act(request, shown, act)
        if not request.user.has_perm("trays.process_trays"):
            raise PermissionDenied
        text = request.POST.get("text", "").replace("\0", "").strip()
        if not text:
            return redirect("load", pk)
        answer = _scanned(request, shown, text)
        return answer if isinstance(answer, HttpResponse) else answers.answered(request, answer)
    return render(request, "scheduling/sterile/load.html", _page(request, shown))


def _page(request: PersonsRequest, shown: Load) -> dict[str, Any]:
    site = request.person.site
    cycle = CYCLES.get(shown.cycle)
    reached = (
        f0(shown.lowest_celsius, shown.held_minutes)
        if shown.lowest_celsius is not None and shown.held_minutes is not None
        else None
    )
    moments = {
        name: site.local(at) if (at := getattr(shown, name)) else None
        for name in ("started_at", "closed_at", "released_at", "withdrawn_at", "biological_at")
    }
    return {
        "load": shown,
        "is_steriliser": shown.machine.kind == MachineKind.STERILISER,
        "trays": trays_in(shown),
        "has_implants": shown.state == LoadState.OPEN and has_implants_in_trays(shown),
        "takes_scans": shown.state not in IN_HAND,
        "cycle": cycle,
        "cycles": list(CYCLES.values()),
        "f0_wanted": f0(cycle.celsius, cycle.minutes) if cycle else None,
        "f0_reached": reached,
        "answer": answers.kept(request),
        "as_of": site.local(site.now()),
        **moments,
    }


def _scanned(request: PersonsRequest, shown: Load, text: str) -> Answer | HttpResponse:
    site = request.person.site
    now = site.now()
    other = station_scanned(text)
    if other is not None:
        return redirect("bench_station", other.slug)
    machine = machine_scanned(site, text)
    if machine is not None:
        try:
            return redirect("load", open_load(machine=machine, by=request.person, now=now).pk)
        except Refused as refusal:
            return answers.refused(refusal, None, f"machine {machine.code}", text[:80])
    tray = tray_scanned(site, text)
    if isinstance(tray, str):
        return answers.stop(tray, asked=f"a tray for load {shown}", read=text[:80])
    try:
        there = put_into_load(
            load=shown, tray=tray, by=request.person, now=now, forecast=forecast_at(site, now)
        )
    except Refused as refusal:
        return answers.refused(refusal, tray, f"load {shown}")
    return answers.moved(there, f"now in load {shown}")


def _act(request: PersonsRequest, shown: Load, act: str) -> HttpResponse:
    if not request.user.has_perm(ACTS[act]):
        raise PermissionDenied
    site = request.person.site
    now = site.now()
    who: dict[str, Any] = {"by": request.person, "now": now, "load": shown}
    said = request.POST.get("said", "")
    try:
        if act in SIGNED:
            sign(request, act=f"{act} load {shown}")
        if act == "start":
            start_load(
                cycle=_chosen(request, CYCLES),
                has_implants="implants" in request.POST,
                forecast=forecast_at(site, now),
                **who,
            )
        elif act == "out":
            tray = tray_scanned(site, request.POST.get("tray", ""))
            if isinstance(tray, str):
                messages.error(request, tray)
            else:
                take_out_of_load(tray=tray, **who)
        elif act == "close":
            close_load(
                passed=request.POST.get("result") == "pass",
                measured=_measured(request),
                said=said,
                forecast=forecast_at(site, now),
                **who,
            )
        elif act == "indicator":
            read_indicator(growth=request.POST.get("result") == "growth", **who)
        elif act == "release":
            release_load(**who)
        else:
            withdraw_load(reason=said, **who)
    except Refused as refusal:
        return _again(request, shown, act, refusal.say())
    except ValueError as fault:
        return _again(request, shown, act, str(fault))
    return redirect("load", shown.pk)


def _again(request: PersonsRequest, shown: Load, act: str, why: str) -> HttpResponse:
    """The page with what was typed, for nothing was done; but where the load moved on meanwhile,
    what can be done now."""
    messages.error(request, f"Nothing was changed. {why}")
    state = load_for(request.person, shown.pk).state
    if state != shown.state:
        return redirect("load", shown.pk)
    typed = {name: request.POST.get(name, "") for name in (*MEASURED, "said", "cycle", "implants")}
    page = {**_page(request, shown), "typed": typed, "refused": act}
    return render(request, "scheduling/sterile/load.html", page)


def _chosen(request: PersonsRequest, choices: Any) -> str:
    chosen = request.POST.get("cycle", "")
    return chosen if chosen in choices else next(iter(choices))


MEASURED = {
    "lowest": "lowest temperature",
    "highest": "highest temperature",
    "minutes": "holding time",
}


def _measured(request: PersonsRequest) -> Measured | None:
    """The three values; None where none was entered.  ValueError with every fault at once."""
    typed = {name: request.POST.get(name, "").strip().replace(",", ".") for name in MEASURED}
    if not any(typed.values()):
        return None
    values, faults = {}, []
    for name, text in typed.items():
        if not text:
            faults.append(f"{MEASURED[name]}: not entered")
            continue
        try:
            value = Decimal(text)
        except InvalidOperation:
            faults.append(f"{MEASURED[name]}: a number, not “{text[:20]}”")
            continue
        if not (value.is_finite() and 0 < value < 1000):
            faults.append(f"{MEASURED[name]}: more than 0 and less than 1000")
            continue
        values[name] = value.quantize(Decimal("0.1"))
    if not faults and values["lowest"] > values["highest"]:
        faults.append("lowest temperature: it is higher than the highest")
    if faults:
        raise ValueError("; ".join(faults))
    return Measured(values["lowest"], values["highest"], values["minutes"])
