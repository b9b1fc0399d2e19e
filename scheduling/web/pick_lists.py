"""Pick lists: what would be printed now, printing, and the page behind a printed list's code."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from deploy.kit.doors import requires
from scheduling.access import case_for
from scheduling.errors import Refused
from scheduling.models import PickList, PickListVersion, Theatre
from scheduling.operations.pick_lists import (
    Subject,
    print_and_reserve,
    print_pick_list,
    subject_of,
)
from scheduling.pick_lists import words
from scheduling.pick_lists.access import version_for
from scheduling.pick_lists.changes import changes
from scheduling.pick_lists.codes import code_of
from scheduling.pick_lists.paper import Paper
from scheduling.pick_lists.pdf import pick_list_pdf
from scheduling.pick_lists.versions import content_as_printed, newest_version, printing
from scheduling.web.pick_list_views import section_views
from scheduling.web.requests import PersonsRequest


@requires("scheduling.print_pick_list")
@require_http_methods(["GET", "HEAD", "POST"])
def for_case(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: the list as it would be printed now.  POST: print it, and reserve if that was asked."""
    case = case_for(request.person, pk)
    back = reverse("case", args=[pk])
    if request.method == "POST":
        return _print(request, case=case)
    return _show(request, back, subject=lambda: subject_of(case=case))


@requires("scheduling.print_pick_list")
@require_http_methods(["GET", "HEAD", "POST"])
def for_day(request: PersonsRequest, theatre_pk: int, day: date) -> HttpResponse:
    """The same for a theatre's day; for those who may read every case."""
    theatre = Theatre.objects.filter(site=request.person.site, pk=theatre_pk).first()
    if theatre is None or not request.user.has_perm("scheduling.read_cases"):
        raise Http404("no such day")
    back = reverse("day", args=[day])
    if request.method == "POST":
        return _print(request, theatre=theatre, day=day)
    return _show(request, back, subject=lambda: subject_of(theatre=theatre, day=day))


def _show(request: PersonsRequest, back: str, *, subject: Any) -> HttpResponse:
    """About 25 queries: the coverage, and what was printed last."""
    try:
        about: Subject = subject()
    except Refused as refused:
        messages.error(request, refused.say())
        return redirect(back)
    content = about.content()
    last = _last(about)
    page = {
        "title": content.title,
        "back": back,
        "sections": section_views(content, with_codes=False),
        "last": last,
        "last_made": about.site.local(last.printed_at) if last else None,
        "changes": changes(content_as_printed(last), content) if last else (),
        "papers": list(Paper),
    }
    return render(request, "scheduling/pick_list.html", page)


def _last(about: Subject) -> PickListVersion | None:
    lists = PickList.objects.filter(site=about.site)
    if about.day is not None:
        found = lists.filter(theatre=about.theatre, day=about.day).first()
    else:
        found = lists.filter(case=about.cases[0]).first()
    return newest_version(found) if found else None


def _print(request: PersonsRequest, **what: Any) -> HttpResponseRedirect:
    reserve = request.POST.get("act") == "reserve"
    if reserve and not request.user.has_perm("scheduling.reserve"):
        raise PermissionDenied
    act = print_and_reserve if reserve else print_pick_list
    try:
        made = act(by=request.person, now=request.person.site.now(), **what)
    except Refused as refused:
        messages.error(request, f"Nothing was printed or reserved. {refused.say()}")
        return redirect(request.path)
    target = reverse("pick_list_print", args=[made.pick_list.code, made.number])
    return redirect(f"{target}?paper={_paper(request.POST.get('paper', '')).value}")


def _paper(text: str) -> Paper:
    return Paper(text) if text in list(Paper) else Paper.A4


READS_LISTS = ("scheduling.print_pick_list", "scheduling.scan_pick_list", "scheduling.read_cases")


@requires(*READS_LISTS)
@require_safe
def version(request: PersonsRequest, code: str, number: int) -> HttpResponse:
    """Behind a list's code: the newest, or replaced and by what; and whether it still holds now."""
    shown = version_for(request.person, code, number, "pick_list__case", "pick_list__theatre")
    newest = newest_version(shown.pick_list)
    site = shown.pick_list.site
    printed = content_as_printed(shown)
    page: dict[str, Any] = {
        "title": printed.title,
        "version": shown,
        "newest": newest,
        "made": site.local(shown.printed_at),
        "newest_made": site.local(newest.printed_at),
        "is_newest": newest.pk == shown.pk,
        "changes": changes(printed, content_as_printed(newest)),
    }
    try:
        current = _subject_of(shown.pick_list).content()
    except Refused as refused:
        page["over"] = refused.say()
    else:
        page["since"] = changes(content_as_printed(newest), current)
        page["sections"] = section_views(current, with_codes=False)
    return render(request, "scheduling/pick_list_version.html", page)


def _subject_of(pick_list: PickList) -> Subject:
    if pick_list.day is not None:
        return subject_of(theatre=pick_list.theatre, day=pick_list.day)
    return subject_of(case=pick_list.case)


@requires(*READS_LISTS)
@require_safe
def print_view(request: PersonsRequest, code: str, number: int) -> HttpResponse:
    """The printed version as a page that prints: the same content as the PDF."""
    shown = version_for(request.person, code, number)
    paper = _paper(request.GET.get("paper", ""))
    sheet = printing(shown, printed_at=shown.pick_list.site.now())
    page = {
        "printing": sheet,
        "paper": paper,
        "papers": list(Paper),
        "list_code": code_of(sheet.link),
        "sections": section_views(sheet.content, with_codes=True),
        "reserved": shown.reserved,
        "words": words,
        "newest": newest_version(shown.pick_list),
    }
    return render(request, "scheduling/pick_list_print.html", page)


@requires(*READS_LISTS)
@require_safe
def pdf(request: PersonsRequest, code: str, number: int) -> HttpResponse:
    shown = version_for(request.person, code, number)
    sheet = printing(shown, printed_at=shown.pick_list.site.now())
    file = pick_list_pdf(sheet, _paper(request.GET.get("paper", "")))
    return HttpResponse(
        file,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="pick-list-{sheet.code}-{sheet.number}.pdf"'
        },
    )
