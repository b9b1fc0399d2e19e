"""What the navigation shows to whom, and that it says where one is."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from django.urls import get_resolver, reverse

from deploy.navigation import ENTRIES

ENTRY = re.compile(r'<li><a href="[^"]+"(?: aria-current="(\w+)")?>([^<]+)</a></li>')
READS = ["Needed next", "To order", "All booked cases", "Days", "Told you", "Shelf"]
SHOWN = {
    "sterile_services": [READS[0], "Bench", *READS[1:], "Scan", "Trace"],
    "coordinator": [*READS, "Receive", "Scan", "Workbooks", "In theatre", "Trace"],
    "surgeon": ["Your booked cases", "Told you", "Shelf"],
    "theatre_team": [READS[0], "Bench", *READS[1:], "Scan", "In theatre", "Trace"],
    "manager": [*READS, "Trace"],
}


def navigation(page: str, name: str) -> dict[str, str]:
    """Label → what `aria-current` says of it, of one of the page's navigations."""
    found = re.search(rf'<nav class="[^"]*" aria-label="{name}">(.*?)</nav>', page, re.S)
    return {label: current for current, label in ENTRY.findall(found[1])} if found else {}


def test_every_route_in_it_exists_and_has_one_place() -> None:
    known = {name for name in get_resolver().reverse_dict if isinstance(name, str)}
    places: Counter[str] = Counter()
    for entry in ENTRIES:
        assert set(entry.routes()) <= known, entry.label
        if not entry.instead_of:
            places.update(set(entry.routes()))
    assert [route for route, number in places.items() if number > 1] == []


def test_a_page_with_sections_is_the_first_of_them() -> None:
    assert all(entry.route == entry.sections[0].route for entry in ENTRIES if entry.sections)


@pytest.mark.parametrize("role", SHOWN)
def test_shows_what_is_open_to_the_person(role, request, client_of) -> None:
    page = client_of(request.getfixturevalue(role)).get(reverse("shelf")).text
    shown = navigation(page, "Main")
    assert [label for label in shown if label != "Set up"] == SHOWN[role]
    assert shown["Shelf"] == "page"


def test_the_sections_of_the_page_say_which_it_is(manager, client_of) -> None:
    page = client_of(manager).get(reverse("loads")).text
    assert navigation(page, "Main")["Needed next"] == "true"
    sections = navigation(page, "Sections")
    assert sections["Loads"] == "page"
    assert list(sections) == [
        *("Trays", "Which first", "Handover", "Loads", "Machines", "For the wall"),
    ]


def test_a_section_is_left_out_where_its_door_is_closed(manager, coordinator, client_of) -> None:
    asked = [client_of(who).get(reverse("orders")).text for who in (manager, coordinator)]
    read, ordered = (navigation(page, "Sections") for page in asked)
    assert list(read) == ["List of today", "Orders", "Loans", "Par levels"]
    assert list(ordered) == [*read, "Size risk"]


def test_nobody_sees_one_before_log_in(client) -> None:
    assert navigation(client.get(reverse("login")).text, "Main") == {}
