"""Workbooks out: template and record.  Workbooks in: sent, looked at, written."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from deploy.kit.doors import may_enter, requires
from deploy.kit.imports.importing import TwoPeopleNeeded, export_workbook
from deploy.kit.imports.kind import ImportKind
from deploy.kit.models import ImportDraft
from deploy.kit.signed_act import NotSigned, second_person
from deploy.kit.workbooks.once import AlreadyImported
from deploy.kit.workbooks.template import template
from deploy.kit.workbooks.upload import take
from scheduling.errors import Refused
from scheduling.operations.workbooks import look_at_workbook, take_workbook, write_workbook_in
from scheduling.web.requests import PersonsRequest
from scheduling.workbooks.registry import BY_SLUG, KINDS

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
door = requires(*dict.fromkeys(kind.permission for kind in KINDS))
"""Whoever may import at least one kind; each kind is asked for again."""


@door
@require_safe
def workbooks(request: PersonsRequest) -> HttpResponse:
    """The kinds of workbook that the person may send.  No query of its own."""
    kinds = [(slug, kind) for slug, kind in BY_SLUG.items() if _may(request, kind)]
    return render(request, "scheduling/workbooks/workbooks.html", {"kinds": kinds})


@door
@require_POST
def send(request: PersonsRequest, kind: str) -> HttpResponse:
    _kind(request, kind)
    file = request.FILES.get("file")
    if file is None:
        messages.error(request, "Choose a file first.")
        return redirect("workbooks")
    draft = take_workbook(
        kind=kind, name=file.name or "workbook", data=take(file), by=request.person
    )
    return redirect("import_draft", pk=draft.pk)


@door
@require_http_methods(["GET", "HEAD", "POST"])
def draft(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: how far it is, or what was found.  POST: `look` reads it, `write` writes it."""
    sent = _draft(request, pk)
    if request.method == "POST":
        _act(request, sent)
        return redirect("import_draft", pk=pk)
    page = {"draft": sent, "kind": BY_SLUG[sent.kind], "found": sent.findings}
    return render(request, "scheduling/workbooks/draft.html", page)


def _act(request: PersonsRequest, sent: ImportDraft) -> None:
    now = request.person.site.now()
    if request.POST.get("act") == "look":
        look_at_workbook(draft=sent, now=now)
        return
    confirmed = request.POST.get("confirmed") == "yes"
    if sent.findings and sent.findings["confirm"] and not confirmed:
        messages.error(request, "Compare the GTINs with the labels, and tick that you did.")
        return
    second = None
    try:
        if sent.findings and sent.findings["takes_two"]:
            act = f"import {sent.kind}, {sent.findings['writes']} rows"
            second = second_person(request, BY_SLUG[sent.kind].permission, act=act)
        done = write_workbook_in(draft=sent, by=request.person, now=now, second=second)
    except AlreadyImported as before:
        messages.error(
            request, _imported_before(request, before.by.user.get_full_name(), before.at)
        )
    except TwoPeopleNeeded as needed:
        messages.error(request, f"{needed}. Look at it again.")
    except (Refused, NotSigned) as refused:
        messages.error(request, refused.say())
    else:
        if not done.ok:
            messages.error(request, "The record has changed meanwhile. Nothing was written.")


def _imported_before(request: PersonsRequest, by: str, at: datetime) -> str:
    return f"This very file was imported before, by {by} on {at:%d %B %Y}. Nothing was written."


@door
@require_safe
def progress(request: PersonsRequest, pk: int) -> JsonResponse:
    sent = _draft(request, pk, light=True)
    return JsonResponse({"read": sent.rows_read, "all": sent.rows_all})


@door
@require_safe
def refused(request: PersonsRequest, pk: int) -> HttpResponse:
    sent = _draft(request, pk)
    if sent.refused is None:
        raise Http404
    return _download(bytes(sent.refused), f"{sent.kind}-refused")


@door
@require_safe
def template_of(request: PersonsRequest, kind: str) -> HttpResponse:
    return _download(template(_kind(request, kind).spec), f"{kind}-template")


@door
@require_safe
def export(request: PersonsRequest, kind: str) -> HttpResponse:
    return _download(export_workbook(_kind(request, kind), request.person.site), kind)


def _draft(request: PersonsRequest, pk: int, *, light: bool = False) -> ImportDraft:
    """One of the person's own drafts, of a kind that they may send.  One query."""
    own = ImportDraft.objects.filter(by=request.person).select_related("site")
    sent = get_object_or_404(own.defer("data", "refused", "findings") if light else own, pk=pk)
    _kind(request, sent.kind)
    return sent


def _kind(request: PersonsRequest, slug: str) -> ImportKind:
    kind = BY_SLUG.get(slug)
    if kind is None:
        raise Http404
    if not _may(request, kind):
        raise PermissionDenied
    return kind


def _may(request: PersonsRequest, kind: ImportKind) -> bool:
    return may_enter(request.user, (kind.permission,))


def _download(data: bytes, name: str) -> HttpResponse:
    headers: dict[str, Any] = {"Content-Disposition": f'attachment; filename="muster-{name}.xlsx"'}
    return HttpResponse(data, content_type=XLSX, headers=headers)
