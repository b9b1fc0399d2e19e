"""While nothing may be recorded: a restored copy that is looked at, a move to another machine.

With `MUSTER_READ_ONLY=1` everything is read and printed as always, and whatever would record
something is refused, in words.  What happens meanwhile is written down on the printed lists and
entered late.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import render
from rest_framework.permissions import SAFE_METHODS

from deploy.kit.api_or_page import goes_to_api
from deploy.kit.doors import OPEN, View, door_of, marked

SAY = "Muster is read only at present: nothing was recorded."


class ReadOnly:
    """Middleware: refuses (503) every method that could write.  Logging in and out, locking and
    unlocking go on."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: View, args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        if not settings.MUSTER_READ_ONLY or request.method in SAFE_METHODS:
            return None
        if marked(view, "open_when_locked") or door_of(view) == OPEN:
            return None
        if goes_to_api(request):
            return JsonResponse({"code": "read_only", "say": SAY}, status=503)
        return render(request, "read_only.html", {"say": SAY}, status=503)
