"""Check in one tray of a loan: contents line by line, condition, papers, weight."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.loans.access import loan_for
from scheduling.loans.progress import arrived_at
from scheduling.loans.states import LoanState
from scheduling.models import LoanTray
from scheduling.operations.loans.arriving import Looked, check_in_tray
from scheduling.web.loans.pages import tray_row
from scheduling.web.requests import PersonsRequest
from trays.models import Content, settings_of
from trays.stages import Stage
from trays.weight import grams_typed, weight_warning

TYPED = ("sound", "note", "certificate", "weight", "asset", "instructions")


@requires("scheduling.check_in_loan_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def tray(request: PersonsRequest, code: str, pk: int) -> HttpResponse:
    loan = loan_for(request.person, code)
    line = loan.trays.filter(pk=pk).select_related("tray__configuration", "checked_by").first()
    if line is None:
        raise Http404("no such tray on this loan")
    site = loan.site
    limit = settings_of(site).weight_limit_grams
    sheet = list(line.tray.version.contents.select_related("instrument"))
    if request.method == "POST":
        try:
            _check_in(request, line, sheet, limit)
        except (Refused, ValueError) as refused:
            messages.error(request, f"Nothing was changed. {refused}")
            line.refresh_from_db()
        else:
            return redirect("loan_check_in", code=loan.code)
    typed = request.POST  # Empty but after a refusal: then what was typed stands there still.
    came = arrived_at(loan)
    page: dict[str, Any] = {
        "loan": loan,
        "line": line,
        "tray": line.tray,
        "sheet": [(content, typed.get(f"missing {content.pk}", "")) for content in sheet],
        "typed": {name: typed.get(name, "") for name in TYPED},
        "row": tray_row(line, limit),
        "limit_kg": limit / 1000,
        "arrived": site.local(came) if came else None,
        "checked": site.local(line.checked_at) if line.checked_at else None,
        "can_check": line.checked_at is None and loan.state == LoanState.ARRIVED,
    }
    response = render(request, "scheduling/loans/tray.html", page)
    add_never_cache_headers(response)
    return response


def _check_in(
    request: PersonsRequest, line: LoanTray, sheet: list[Content], limit_grams: int
) -> None:
    post = request.POST
    seq = post.get("seq", "")
    if post.get("sound") not in ("yes", "no"):
        raise ValueError("Say whether the tray is sound.")
    looked = Looked(
        is_sound=post["sound"] == "yes",
        certificate=post.get("certificate", "").replace("\0", ""),
        has_instructions="instructions" in post,
        weight_grams=grams_typed(post.get("weight", "")),
        missing=_missing(post, sheet),
        note=post.get("note", "").replace("\0", ""),
        asset=post.get("asset", "").replace("\0", ""),
    )
    tray = check_in_tray(
        line=line,
        looked=looked,
        by=request.person,
        now=request.person.site.now(),
        seq=int(seq) if seq.isdecimal() and len(seq) < 10 else None,
    )
    if tray.stage == Stage.QUARANTINE:
        messages.warning(request, f"{tray} is in quarantine. {looked.faults.capitalize()}.")
    else:
        messages.success(
            request, f"{tray} is checked in. It goes to cleaning and through the whole cycle."
        )
    if warning := weight_warning(looked.weight_grams, limit_grams):
        messages.warning(request, f"{tray} is too heavy: {warning}. Split it or carry it by two.")


def _missing(post: QueryDict, sheet: list[Content]) -> dict[str, int]:
    """REF → how many are missing, for the lines of which any is."""
    missing = {}
    for content in sheet:
        typed = post.get(f"missing {content.pk}", "").strip() or "0"
        if not typed.isdecimal() or int(typed) > content.quantity:
            raise ValueError(
                f"{content.instrument.ref}: the count sheet has {content.quantity}; say how many "
                "of them are missing."
            )
        if int(typed):
            missing[content.instrument.ref] = int(typed)
    return missing
