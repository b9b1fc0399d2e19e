"""A surgeon's windows: the named defaults with which the plan form begins."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from scheduling.errors import Refused
from scheduling.models import Surgeon, Window
from scheduling.operations.windows import retire_window
from scheduling.plan_versions import plan_said
from scheduling.plans.windows import window_in_words
from scheduling.web.requests import PersonsRequest
from scheduling.words import component_in_words, fact_in_words, label_in_words


@dataclass(frozen=True, slots=True)
class WindowSaid:
    window: Window
    made_at: datetime
    lines: tuple[str, ...]


def windows_in_force(surgeon: Surgeon) -> tuple[Window, ...]:
    """The newest version of each, without those that were retired.  One query."""
    newest: dict[tuple[int, str], Window] = {}
    for one in surgeon.windows.select_related("technique").order_by("number"):
        newest[one.technique_id, one.name] = one
    found = [one for one in newest.values() if not one.retired]
    return tuple(sorted(found, key=lambda one: (one.technique.code, one.name)))


@requires("scheduling.write_own_plan")
@require_http_methods(["GET", "HEAD", "POST"])
def own(request: PersonsRequest) -> HttpResponse:
    """The person's own windows.  POST: retire one."""
    surgeon = Surgeon.objects.filter(user=request.person.user).first()
    windows = windows_in_force(surgeon) if surgeon else ()
    if request.method == "POST":
        chosen = request.POST.get("window", "")
        window = next((one for one in windows if str(one.pk) == chosen), None)
        if window is None:
            raise Http404("no such window")
        try:
            retire_window(window=window, by=request.person, now=request.person.site.now())
        except Refused as refused:
            messages.error(request, refused.say())
        else:
            messages.success(request, f"“{window.name}” is retired: it is offered no more.")
        return redirect("windows")
    page = {
        "windows": [window_said(one, request.person.site.local(one.made_at)) for one in windows]
    }
    return render(request, "scheduling/planning/windows.html", page)


def window_said(window: Window, made_at: datetime) -> WindowSaid:
    said = plan_said(window)
    return WindowSaid(
        window,
        made_at,
        (
            *(component_in_words(role, part) for role, part in said.components.items()),
            *(
                f"{label_in_words(name)}: {fact_in_words(value)}"
                for name, value in said.facts.items()
            ),
            *(window_in_words(key, steps) for key, steps in sorted(said.windows.items())),
        ),
    )
