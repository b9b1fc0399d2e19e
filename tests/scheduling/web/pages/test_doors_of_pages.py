"""Which page a role begins with, and what looks like nothing to whom.  Who may open which page at
all stands in the permission matrix."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person
from scheduling.models import Case


@pytest.mark.parametrize(
    ("person", "page"),
    [
        ("sterile_services", "/needed-next/"),
        ("coordinator", "/to-order/"),
        ("surgeon", "/your-cases/"),
        ("theatre_team", "/days/"),
        ("manager", "/cases/"),
    ],
)
def test_home_is_the_first_page_of_the_role(
    person: str,
    page: str,
    request: pytest.FixtureRequest,
    client_of: Callable[[Person], Client],
) -> None:
    answer = client_of(request.getfixturevalue(person)).get("/")
    assert (answer.status_code, answer.headers["Location"]) == (302, page)


def test_a_case_of_another_surgeon_looks_like_none(
    surgeon: Person, case_a: Case, case_b: Case, client_of: Callable[[Person], Client]
) -> None:
    browser = client_of(surgeon)
    assert browser.get(reverse("case", args=[case_a.pk])).status_code == 200
    assert browser.get(reverse("case", args=[case_b.pk])).status_code == 404
    assert browser.get(reverse("case", args=[case_b.pk + 1000])).status_code == 404


def test_a_case_of_another_site_looks_like_none(
    case_a: Case, stranger: Person, client_of: Callable[[Person], Client]
) -> None:
    assert client_of(stranger).get(reverse("case", args=[case_a.pk])).status_code == 404


def test_another_sites_pages_show_nothing_of_this_one(
    case_a: Case, stranger: Person, client_of: Callable[[Person], Client]
) -> None:
    page = client_of(stranger).get("/cases/").content.decode()
    assert "No case is booked." in page
    assert "Revision" not in page


@pytest.mark.parametrize("day", ["2026-02-30", "0001-01-01", "9999-12-31", "today"])
def test_what_is_no_day_leads_nowhere(
    day: str, theatre_team: Person, client_of: Callable[[Person], Client]
) -> None:
    assert client_of(theatre_team).get(f"/days/{day}/").status_code == 404
