"""Doors: every view says who may enter; a view that says nothing is closed.

A page function is marked with `@requires("app.permission", ...)` (any one of them opens it) or
`@open_to_all` (the log-in page).  A REST view class carries `door = ("app.permission", ...)` and
the permission class `HasDoor`.  `ClosedByDefault` refuses every view without a mark, and a test
walks all routes.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from deploy.kit.models import Person

View = Callable[..., HttpResponseBase]

OPEN: tuple[str, ...] = ()
"""The door of a view that is open to everybody."""

SIGNED_IN = ("*",)
"""The door of a view that is open to everybody who has logged in and has a place of work."""


def person_of(request: HttpRequest | Request) -> Person:
    """The person who acts: always from the session, never from the body.

    PermissionDenied where the account has no place of work.  One query a request.
    """
    person = None
    if request.user.is_authenticated:
        people = Person.objects.select_related("site", "user")
        person = people.filter(user=request.user).first()
    if person is None:
        raise PermissionDenied("This account has no place of work yet.")
    return person


def may_enter(user: Any, door: tuple[str, ...]) -> bool:
    return door == SIGNED_IN or any(user.has_perm(permission) for permission in door)


def requires(*door: str) -> Callable[[View], View]:
    """Open the view to those who hold any one of the permissions.

    Anonymous: to the log-in page.  Others: 403.  The view's request gains `person`.
    """

    def mark(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not may_enter(request.user, door):
                raise PermissionDenied
            request.person = person_of(request)  # type: ignore[attr-defined]
            return view(request, *args, **kwargs)

        guarded.door = door  # type: ignore[attr-defined]
        return guarded

    return mark


def open_to_all(view: View) -> View:
    """Mark a view as open to everybody, logged in or not."""
    view.door = OPEN  # type: ignore[attr-defined]
    return view


class HasDoor(BasePermission):
    """REST: the view's `door`, as for pages."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return bool(request.user.is_authenticated) and may_enter(request.user, view.door)


def door_of(view: Any) -> tuple[str, ...] | None:
    """The view's door, or None where it has declared none."""
    for holder in (view, getattr(view, "cls", None), getattr(view, "view_class", None)):
        door = getattr(holder, "door", None)
        if door is not None:
            return tuple(door)
    return None


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
