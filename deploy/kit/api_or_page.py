"""Whether a request goes to the API, whose answers are JSON, or to a page for people."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def is_api(view: Any) -> bool:
    """Whether it is a REST view, whose answers are JSON and never a redirection to a form."""
    return hasattr(view, "cls")


def goes_to_api(request: HttpRequest) -> bool:
    """Whether the view that the request was sent on to is one; not before there is a view."""
    match = request.resolver_match
    return match is not None and is_api(match.func)
