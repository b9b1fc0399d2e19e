"""The count sheet at the bench: line by line, by keyboard and scanner alone."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import second_person
from scheduling.queries import coverage_now
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile import answers
from scheduling.web.sterile.answers import ALREADY, STOP, Answer
from scheduling.web.sterile.missing import Missing, who_needs
from scheduling.web.views import case_pks
from trays.access import photo_for, tray_at
from trays.count_words import CountEntryFault, read_entry
from trays.instruments_away import away_from_or_in
from trays.models import Count, CountLine, CountPhoto, Tray, settings_of
from trays.operations.counts import begin_count, close_count, closed_count, say_line
from trays.operations.photos import MOST_BYTES, keep_photo
from trays.operations.returns import notes_riding_along
from trays.stages import Stage
from trays.stations import station_scanned

MISSING, PRESENT = "MISSING", "PRESENT"


@requires("trays.process_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def count(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: the sheet of the count under way, or the last one.  POST: a line, or the close."""
    tray = tray_at(request.person, pk)
    going = tray.counts.filter(closed_at=None).first()
    if going is None and tray.stage == Stage.ASSEMBLY and request.method == "POST":
        going = begin_count(tray=tray, by=request.person, now=request.person.site.now())
        if "begin" in request.POST:
            return redirect("count_tray", tray.pk)
    if request.method == "POST":
        if going is None:
            messages.error(request, f"Tray {tray.code} is {tray.stage}: nothing to count.")
            return redirect("count_tray", tray.pk)
        if "close" in request.POST:
            return _close(request, tray, going)
        sent = request.FILES.get("photo")
        if isinstance(sent, UploadedFile):
            return _photo(request, tray, going, sent)
    if request.method == "POST" and going is not None:
        text = request.POST.get("text", "").replace("\0", "").strip()
        if (station := station_scanned(text)) is not None:
            return redirect("bench_station", station.slug)
        at = request.POST.get("at", "")
        answer, line = _said(request, going, text, at)
        if answer is None:
            back = urlencode({"at": _before(going, at)})
            return redirect(f"{request.path}?{back}")
        if line is None:  # Nothing was said: what is said next is about the same line.
            return answers.answered(request, answer, at=at)
        return answers.answered(request, answer, missing=line.instrument.ref * bool(line.missing))
    return _shown(request, tray, going)


def _shown(request: PersonsRequest, tray: Tray, going: Count | None) -> HttpResponse:
    site = request.person.site
    shown = going or closed_count(tray)
    lines = list(shown.lines.select_related("instrument", "said_by")) if shown else []
    ref, at = request.GET.get("missing", ""), request.GET.get("at", "")
    missing = None
    if any(line.instrument.ref == ref and line.missing for line in lines):
        missing = _missing(request, tray, ref)
    current = next((line for line in lines if line.instrument.ref == at), None)
    current = current or next((line for line in lines if line.present is None), None)
    said = [line for line in lines if line.present is not None]
    house = settings_of(site)
    page: dict[str, Any] = {
        "tray": tray,
        "count": shown,
        "going": going,
        "can_begin": going is None and tray.stage == Stage.ASSEMBLY,
        "opened": site.local(shown.opened_at) if shown else None,
        "closed": site.local(shown.closed_at) if shown and shown.closed_at else None,
        "lines": lines,
        "photos": CountPhoto.objects.filter(line__count=shown)
        .select_related("line__instrument")
        .defer("content")
        if shown
        else (),
        "current": current if going else None,
        "done": len(said),
        "short": [line for line in said if line.missing],
        "answer": answers.kept(request),
        "missing": missing,
        "case_pks": case_pks(site) if missing else {},
        "two_initials": house.two_initials,
        "away": away_from_or_in(tray),
        "from_theatre": notes_riding_along(tray),
        "as_of": site.local(site.now()),
    }
    response = render(request, "scheduling/sterile/count.html", page)
    add_never_cache_headers(response)
    return response


def _said(
    request: PersonsRequest, going: Count, text: str, at: str
) -> tuple[Answer | None, CountLine | None]:
    """What was said of a line, and the line; (None, None) for one step back."""
    lines = {line.instrument.ref: line for line in going.lines.select_related("instrument")}
    current = lines.get(at) or next((line for line in lines.values() if line.present is None), None)
    if not text:
        return Answer("already", ALREADY, "Nothing was said.", ""), None
    expected = current.expected if current else 0
    try:
        entry = read_entry(text, expected=expected, refs=lines)
    except CountEntryFault as fault:
        return _stop(str(fault), current, text), None
    if entry.back:
        return None, None
    line = lines[entry.ref] if entry.ref else current
    if line is None:
        return _stop(
            "Every line is said. Scan one to say it anew, or close the sheet.", None, text
        ), None
    present = entry.present
    if present is None:  # One more than before, and never more than the sheet has.
        if line.present == line.expected:
            return Answer("already", ALREADY, _words(line), f"{line.expected} there"), None
        present = min(line.expected, (line.present or 0) + 1)
    try:
        said = say_line(
            count=going,
            ref=line.instrument.ref,
            present=present,
            broken=entry.broken,
            replaced_by=entry.replaced_by,
            refilled=entry.refilled,
            by=request.person,
            now=request.person.site.now(),
        )
    except Refused as refusal:
        return _stop(refusal.say(), line, text), None
    if said.missing:
        broken = f", {said.broken} broken" if said.broken else ""
        return (
            Answer(
                "stop",
                MISSING,
                _words(said),
                f"{said.present} here{broken}",
                f"{said.expected}",
                what_to_do="" if entry.replaced_by else "Who needs it stands below.",
            ),
            said,
        )
    source = f"replaced by {said.replaced_by}" if said.replaced_by else f"{said.present} there"
    if said.refilled:
        source = f"{said.present} there, {said.refilled} filled up from {said.replaced_by}"
    return Answer("matches", PRESENT, _words(said), source), said


def _words(line: CountLine) -> str:
    return f"{line.instrument.in_words()} ({line.instrument.ref})"


def _stop(title: str, line: CountLine | None, text: str) -> Answer:
    return Answer("stop", STOP, title, text[:80], _words(line) if line else "nothing more")


def _before(going: Count, at: str) -> str:
    """The REF of the line before the one at hand."""
    refs = list(going.lines.values_list("instrument__ref", "present"))
    here = next(
        (n for n, (ref, present) in enumerate(refs) if ref == at or (not at and present is None)),
        len(refs),
    )
    return refs[max(0, here - 1)][0] if refs else ""


def _missing(request: PersonsRequest, tray: Tray, ref: str) -> Missing:
    """Reads the whole site and decides: only where something is missing, never at each scan."""
    site = request.person.site
    stages = dict(Tray.objects.filter(site=site).values_list("code", "stage"))
    return who_needs(coverage_now(site).decision, tray.code, ref, stages)


def _close(request: PersonsRequest, tray: Tray, going: Count) -> HttpResponse:
    try:
        second = None
        if settings_of(request.person.site).two_initials:
            act = f"count sheet of tray {tray}"
            second = second_person(request, "trays.process_trays", act=act)
        close_count(count=going, by=request.person, now=request.person.site.now(), second=second)
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
        return redirect("count_tray", tray.pk)
    return redirect("pack_tray", tray.pk)


def _photo(
    request: PersonsRequest, tray: Tray, going: Count, sent: UploadedFile[Any]
) -> HttpResponse:
    try:
        keep_photo(
            count=going,
            ref=request.POST.get("line", ""),
            content=sent.read(MOST_BYTES + 1),
            by=request.person,
            now=request.person.site.now(),
        )
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
    return redirect("count_tray", tray.pk)


@requires("trays.read_trays")
@require_safe
def photo(request: PersonsRequest, pk: int) -> HttpResponse:
    """A photograph, and nothing but that: its type is by its bytes, and no browser guesses."""
    found = photo_for(request.person, pk)
    return HttpResponse(bytes(found.content), content_type=found.kind)
