"""The middleware that holds sessions to their limits."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib.auth import logout
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.utils import timezone

from deploy.kit.api_or_page import goes_to_api
from deploy.kit.doors import View, marked, to_lock_page
from deploy.kit.sessions import State, lock, note_activity, only_looks, state_of

Marked = TypeVar("Marked", bound=Callable[..., Any])

SAY = {
    State.LOCKED: "This session is locked. Unlock it with your PIN or password.",
    State.OVER: "This session is over. Log in again.",
}


def open_when_locked(view: Marked) -> Marked:
    """Mark a view as one that a locked session needs: to be unlocked, switched or ended."""
    view.open_when_locked = True  # type: ignore[attr-defined]
    return view


def unattended(view: Marked) -> Marked:
    """Mark a view that an open page asks for by itself: nobody need be there."""
    view.unattended = True  # type: ignore[attr-defined]
    return view


class SessionLimits:
    """Middleware: a locked session gets the lock page, one that is over the log-in page; the API
    and scripts get a 401."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: View, args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        if not request.user.is_authenticated:
            return None
        now = timezone.now()
        state = state_of(request.session, now)
        if state is State.OVER:
            logout(request)
        elif state is State.LOCKED:
            lock(request)
        if marked(view, "open_when_locked"):
            return None
        if state is State.OPEN:
            if not marked(view, "unattended"):
                note_activity(request.session, now)
            # The admin keeps its own doors, which know nothing of looking.
            return to_lock_page(request) if in_admin(request) and only_looks(request) else None
        if goes_to_api(request) or not request.accepts("text/html"):
            return JsonResponse({"code": state, "say": SAY[state]}, status=401)
        if state is State.LOCKED:
            return to_lock_page(request)
        return redirect_to_login(request.get_full_path())


def in_admin(request: HttpRequest) -> bool:
    match = request.resolver_match
    return match is not None and "admin" in match.namespaces
