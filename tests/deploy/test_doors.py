"""Every route has a door, and the closed ones say no."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from deploy.kit.doors import OPEN, door_of

OPEN_ROUTES = {"log-in/", "log-out/", "health/"}
"""What may be opened without logging in.  A route is added here on purpose, or not at all."""


def routes(resolver: URLResolver, prefix: str = "") -> Iterator[tuple[str, Any]]:
    """(address, view) of every route but the admin's, which keeps its own doors."""
    for entry in resolver.url_patterns:
        address = prefix + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield address, entry.callback
        elif entry.namespace != "admin":
            yield from routes(entry, address)


ROUTES = list(routes(get_resolver()))


@pytest.mark.parametrize("view", [pytest.param(view, id=address) for address, view in ROUTES])
def test_every_route_declares_a_door(view: Any) -> None:
    assert door_of(view) is not None, "mark the view with @requires(...) or give it a `door`"


def test_only_these_routes_are_open_to_everybody() -> None:
    assert {address for address, view in ROUTES if door_of(view) == OPEN} == OPEN_ROUTES


def test_health_answers_ok_to_anybody(client: Client, db: None) -> None:
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"ok\n")


def test_health_asks_the_database_once(
    db: None, client: Client, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        client.get("/health/")
