"""Who may do what in the API: every route × method × person.  A route that is not in the table
fails, and so does a method that answers where the table has none."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from scheduling.api import urls

PEOPLE = (
    "sterile_services",
    "coordinator",
    "surgeon",
    "other_surgeon",
    "theatre_team",
    "manager",
    "stranger",
)
METHODS = ("get", "post", "put", "patch", "delete", "options")

EVERYBODY = dict.fromkeys(PEOPLE, 200)
OWN_CASE = EVERYBODY | {"other_surgeon": 404, "stranger": 404}
SCANNERS = {
    "sterile_services": 201,
    "coordinator": 201,
    "theatre_team": 201,
    "stranger": 404,
}

# Route → method → person → status.  A person left out: 403.  A method left out: 405.
TABLE: dict[str, dict[str, dict[str, int]]] = {
    "api_docs": {"get": EVERYBODY},
    "api_schema": {"get": EVERYBODY},
    "api_implants": {"get": EVERYBODY},
    "api_units": {"get": EVERYBODY},
    "api_unit_quarantine": {"post": {"coordinator": 201, "stranger": 404}},
    "api_instruments": {"get": EVERYBODY},
    "api_configurations": {"get": EVERYBODY},
    "api_trays": {"get": EVERYBODY},
    "api_tray_hold": {"post": {"coordinator": 201, "stranger": 404}},
    "api_cases": {"get": EVERYBODY},
    "api_case": {"get": OWN_CASE},
    "api_case_coverage": {"get": OWN_CASE},
    "api_what_if": {"post": EVERYBODY},
    "api_pick_lists": {"get": EVERYBODY},
    "api_pick_list_version": {"get": OWN_CASE},
    "api_scans": {"post": SCANNERS},
}


def names(patterns) -> list[str]:
    found: list[str] = []
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            found += names(pattern.url_patterns)
        elif isinstance(pattern, URLPattern):
            found.append(str(pattern.name))
    return found


def test_every_route_is_in_the_table():
    assert sorted(names(urls.urlpatterns)) == sorted(TABLE)
    under_api = [p for p in get_resolver().url_patterns if str(p.pattern).startswith("api")]
    assert [p.urlconf_module for p in under_api] == [urls]


@pytest.fixture
def call(hospital) -> Callable[[Client, str, str], int]:
    version = hospital.printed
    args = {
        "api_case": [hospital.case.pk],
        "api_case_coverage": [hospital.case.pk],
        "api_pick_list_version": [version.pick_list.code, version.number],
        "api_scans": [version.pick_list.code],
        "api_unit_quarantine": ["U001"],
        "api_tray_hold": ["BASE/1"],
    }
    bodies = {
        "api_what_if": hospital.scenario(),
        "api_scans": {"text": "U001", "version": version.number},
        "api_unit_quarantine": {"reason": "dropped", "seq": 1},
        "api_tray_hold": {"reason": "wet", "seq": 1, "stage": "quarantine"},
    }

    def call(browser: Client, method: str, route: str) -> int:
        return getattr(browser, method)(
            reverse(route, args=args.get(route)),
            **({} if method == "get" else {"data": bodies.get(route, {})}),
            **({} if method == "get" else {"content_type": "application/json"}),
            headers={"Idempotency-Key": "one"},
        ).status_code

    return call


def expected(route: str, method: str, name: str) -> int:
    """The table's status; for a method without one 405, to those for whom the door is open."""
    statuses = TABLE[route]
    if not any(name in people for people in statuses.values()):
        return 403
    return 200 if method == "options" else statuses.get(method, {}).get(name, 405)


@pytest.mark.parametrize("route", TABLE)
def test_who_may_do_what(route, call, client_of, request):
    browsers = {name: client_of(request.getfixturevalue(name)) for name in PEOPLE}
    answered = {
        (method, name): call(browser, method, route)
        for method in METHODS
        for name, browser in browsers.items()
    }
    assert answered == {
        (method, name): expected(route, method, name) for method in METHODS for name in PEOPLE
    }


@pytest.mark.parametrize("route", TABLE)
def test_nobody_without_an_account_may_do_anything(route, call):
    assert {call(Client(), method, route) for method in METHODS} == {403}


@pytest.mark.parametrize("route", TABLE)
def test_an_account_without_a_place_of_work_may_do_nothing(route, call, coordinator, client_of):
    browser = client_of(coordinator)
    coordinator.delete()
    assert {call(browser, method, route) for method in METHODS} == {403}
