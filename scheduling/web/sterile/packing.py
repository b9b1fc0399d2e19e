"""Wrap a counted tray: weight, indicator, and what its label says."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.sterile.forecast import forecast_at
from scheduling.web.requests import PersonsRequest
from trays.access import tray_at
from trays.models import settings_of
from trays.operations.packing import pack_tray, present_pack
from trays.stages import Stage
from trays.weight import grams_typed, weight_warning


@requires("trays.process_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def pack(request: PersonsRequest, pk: int) -> HttpResponse:
    tray = tray_at(request.person, pk)
    site = request.person.site
    limit = settings_of(site).weight_limit_grams
    typed = None
    if request.method == "POST":
        now = site.now()
        seq = request.POST.get("seq", "")
        try:
            pack_tray(
                tray=tray,
                weight_grams=grams_typed(request.POST.get("weight", "")),
                indicator=request.POST.get("indicator", ""),
                by=request.person,
                now=now,
                forecast=forecast_at(site, now),
                seq=int(seq) if seq.isdecimal() else None,
            )
        except (Refused, ValueError) as fault:
            messages.error(request, f"Nothing was changed. {fault}")
            tray = tray_at(request.person, pk)
            typed = request.POST
        else:
            return redirect("pack_tray", tray.pk)
    done = present_pack(tray) if tray.stage != Stage.ASSEMBLY else None
    page: dict[str, Any] = {
        "tray": tray,
        "typed": {name: typed.get(name, "") if typed else "" for name in ("weight", "indicator")},
        "can_pack": tray.stage == Stage.ASSEMBLY,
        "pack": done,
        "packed_at": site.local(done.packed_at) if done else None,
        "weight_kg": done.weight_grams / 1000 if done and done.weight_grams else None,
        "warning": weight_warning(done.weight_grams, limit) if done else "",
        "missing": tray.missing_lines.select_related("instrument"),
        "limit_kg": limit / 1000,
    }
    return render(request, "scheduling/sterile/pack.html", page)
