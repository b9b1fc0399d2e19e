"""The scan pages: a list is opened by its code, then box after box is scanned against it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from scheduling.models import Case, PickLine, PickList, PickListVersion, Scan
from scheduling.operations.scans import scan
from scheduling.pick_lists.access import pick_list_for, version_for
from scheduling.pick_lists.asking import lines_of
from scheduling.pick_lists.links import ListCode, own_code
from scheduling.pick_lists.scan_values import Word
from scheduling.pick_lists.scan_words import TITLES, WHAT_TO_DO
from scheduling.pick_lists.versions import content_as_printed, newest_number, newest_version
from scheduling.web.pick_list_views import LineView
from scheduling.web.requests import PersonsRequest

LATEST = 12


@requires("scheduling.scan_pick_list")
@require_http_methods(["GET", "HEAD", "POST"])
def choose(request: PersonsRequest) -> HttpResponse:
    """Open a list: scan its code, type it, or choose one of the lately printed."""
    if request.method == "POST":
        text = request.POST.get("text", "").replace("\0", "").strip()
        own = own_code(text)
        if isinstance(own, ListCode):
            return _opened(request, own)
        if PickList.objects.filter(site=request.person.site, code=text.upper()).exists():
            return redirect("scan_list", code=text.upper())
        if text:
            messages.error(
                request, f"“{text[:80]}” is not the code of a list. Scan a list's code first."
            )
        return redirect("scan")
    lately = (
        PickList.objects.filter(site=request.person.site)
        .select_related("case", "theatre")
        .order_by("-pk")[:LATEST]
    )
    return render(request, "scheduling/scan.html", {"lists": lately})


def _opened(request: PersonsRequest, own: ListCode) -> HttpResponse:
    """The scan page of the list, or, for an old paper, the page that says what replaced it."""
    version = version_for(request.person, own.code, own.number)
    if newest_number(version.pick_list) != own.number:
        return redirect("pick_list_version", code=own.code, number=own.number)
    return redirect("scan_list", code=own.code)


@requires("scheduling.scan_pick_list")
@require_http_methods(["GET", "HEAD", "POST"])
def scan_list(request: PersonsRequest, code: str) -> HttpResponse:
    """GET: the list and the last answer.  POST: scan a box against it, and back to the GET."""
    pick_list = pick_list_for(request.person, code)
    if request.method == "POST":
        return _scan(request, pick_list)
    newest = newest_version(pick_list)
    site = pick_list.site
    lines = lines_of(newest)
    done = sum(_is_ticked(line) for line in lines)
    page = {
        "pick_list": pick_list,
        "version": newest,
        "as_of": site.local(site.now()),
        "lines": _with_words(newest, lines),
        "done": done,
        "left": len(lines) - done,
        "answer": _answer(request, pick_list),
    }
    return render(request, "scheduling/scan_list.html", page)


def _scan(request: PersonsRequest, pick_list: PickList) -> HttpResponse:
    text = request.POST.get("text", "")
    here = reverse("scan_list", args=[pick_list.code])
    if not text.strip():
        return redirect(here)
    own = own_code(text)
    if isinstance(own, ListCode):
        return _opened(request, own)
    number = request.POST.get("version", "")
    version = pick_list.versions.filter(number=number if number.isdecimal() else 0).first()
    if version is None:
        raise Http404("no such version")
    made = scan(version=version, text=text, by=request.person, now=request.person.site.now())
    return redirect(f"{here}?answer={made.pk}")


def _answer(request: PersonsRequest, pick_list: PickList) -> dict[str, Any] | None:
    """The answer that the address asks for, in words; None without one."""
    asked_for = request.GET.get("answer", "")
    if not asked_for.isdecimal():
        return None
    made = (
        Scan.objects.filter(pk=asked_for, version__pick_list=pick_list)
        .select_related("line__case", "version__pick_list__case")
        .first()
    )
    if made is None:
        return None
    code = made.reason.get("code", "")
    stopped = made.answer == Word.STOP and request.user.has_perm("scheduling.record_use")
    return {
        "scan": made,
        # The way past a STOP is theatre's: what is needed all the same is checked there, with a
        # reason and signed.
        "to_check": _case_of(made) if stopped else None,
        "word": made.answer,
        "kind": {
            Word.MATCHES_LIST: "matches",
            Word.STOP: "stop",
            Word.ALREADY_SCANNED: "already",
        }[Word(made.answer)],
        "title": TITLES.get(code, ""),
        "what_to_do": WHAT_TO_DO.get(code, "") if made.answer == Word.STOP else "",
        **{key: made.reason.get(key) for key in ("asked", "read", "note", "cautions")},
    }


def _case_of(made: Scan) -> Case | None:
    """Whose the scan was: the line's case, or the list's own; None on the list of a whole day."""
    return made.line.case if made.line else made.version.pick_list.case


def _with_words(version: PickListVersion, lines: list[PickLine]) -> list[tuple[PickLine, LineView]]:
    """Each line beside what the paper says of it: lines are kept in the paper's order."""
    printed = [LineView(line) for _, line in content_as_printed(version).lines()]
    return list(zip(lines, printed, strict=True))


def _is_ticked(line: PickLine) -> bool:
    return bool(line.ticked)  # type: ignore[attr-defined]
