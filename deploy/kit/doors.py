"""Doors: every view says who may enter; a view that says nothing is closed.

A page function is marked with `@requires("app.permission", ...)` (any one of them opens it) or
`@open_to_all` (the log-in page).  A REST view class carries `door = ("app.permission", ...)` and
the permission class `HasDoor`.  `ClosedByDefault` refuses every view without a mark, and a test
walks all routes.

A session that only looks (badge without PIN) passes with safe methods, through doors that a
permission to read opens; `settings.MUSTER_READS` says which those are.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, resolve_url
from rest_framework.exceptions import PermissionDenied as ApiPermissionDenied
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from deploy.kit.models import Person
from deploy.kit.right_clock import believe_clock
from deploy.kit.sessions import only_looks

View = Callable[..., HttpResponseBase]

OPEN: tuple[str, ...] = ()
"""The door of a view that is open to everybody."""

SIGNED_IN = ("*",)
"""The door of a view that is open to everybody who has logged in and has a place of work."""


def person_of(request: HttpRequest | Request) -> Person:
    """The person who acts: always from the session, never from the body.

    PermissionDenied where the account has no place of work; ClockWrong where no date can be
    judged.  No query: `Accounts` has read it with the account.
    """
    person: Person | None = getattr(request.user, "person", None)
    if person is None:
        raise PermissionDenied("This account has no place of work yet.")
    believe_clock(request.user)
    return person


def may_enter(user: Any, door: tuple[str, ...]) -> bool:
    """Whether a session of this person that acts may enter."""
    return door == SIGNED_IN or any(user.has_perm(permission) for permission in door)


def needs_pin(request: Any, door: tuple[str, ...]) -> bool:
    """Whether this session looks only, and the door or the method wants one that acts."""
    if not only_looks(request):
        return False
    reads = door if door == SIGNED_IN else tuple(set(door) & settings.MUSTER_READS)
    return request.method not in SAFE_METHODS or not may_enter(request.user, reads)


def requires(*door: str) -> Callable[[View], View]:
    """Open the view to those who hold any one of the permissions.

    Anonymous: to the log-in page.  Others: 403.  Looking, where acting is needed: to the page
    that asks for the PIN.  The view's request gains `person`.
    """

    def mark(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not may_enter(request.user, door):
                raise PermissionDenied
            if needs_pin(request, door):
                return to_lock_page(request)
            request.person = person_of(request)  # type: ignore[attr-defined]
            return view(request, *args, **kwargs)

        guarded.door = door  # type: ignore[attr-defined]
        return guarded

    return mark


def open_to_all(view: View) -> View:
    """Mark a view as open to everybody, logged in or not."""
    view.door = OPEN  # type: ignore[attr-defined]
    return view


def to_lock_page(request: HttpRequest) -> HttpResponse:
    """To the page that asks for PIN or password, and from there back to where this one went."""
    return redirect(lock_page(request.get_full_path()))


def lock_page(back: str) -> str:
    """The address of that page, for a way back."""
    return f"{resolve_url('locked')}?next={quote(back)}"


class HasDoor(BasePermission):
    """REST: the view's `door`, as for pages."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user.is_authenticated or not may_enter(request.user, view.door):
            return False
        if needs_pin(request, view.door):
            raise ApiPermissionDenied("This needs your PIN: a badge alone may look.", "needs_pin")
        return True


def marked(view: Any, name: str) -> Any:
    """What the view is marked with under this name, or None."""
    for holder in (view, getattr(view, "cls", None), getattr(view, "view_class", None)):
        mark = getattr(holder, name, None)
        if mark is not None:
            return mark
    return None


def door_of(view: Any) -> tuple[str, ...] | None:
    """The view's door, or None where it has declared none."""
    door = marked(view, "door")
    return None if door is None else tuple(door)


class ClosedByDefault:
    """Middleware: a view without a declared door answers 403.  The admin keeps its own doors."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: View, args: Any, kwargs: Any) -> None:
        match = request.resolver_match
        if match is not None and "admin" in match.namespaces:
            return
        if door_of(view) is None:
            raise PermissionDenied
