from __future__ import annotations

import pytest
from django.urls import reverse

from tests import factories


@pytest.fixture
def stem(site, stranger):
    factories.implant(stranger.site, "THEIRS")
    stem = factories.implant(site, size=12, offset="high", length=225.5)
    factories.unit(stem, "U1", lot="L1", serial="S1", location="A-01")
    factories.unit(stem, "U2", does_not_expire=True, hold="recalled", owner="consignment")
    return stem


@pytest.fixture
def get(client_of, manager):
    browser = client_of(manager)
    return lambda route, **filters: browser.get(reverse(route), filters).json()


def test_the_catalogue(get, stem):
    assert get("api_implants") == {
        "count": 1,
        "next": None,
        "previous": None,
        "results": [
            {
                "ref": "STEM-12",
                "role": "stem",
                "name": "",
                "maker": "",
                "gtin": "",
                "lead_days": None,
                "replaced_on_use": False,
                "attributes": {"size": 12, "offset": "high", "length": 225.5},
                "words": "stem, size 12, HIGH offset, 225.5 mm",
            }
        ],
    }


def test_the_shelf(get, stem):
    first, second = get("api_units")["results"]
    assert first == {
        "code": "U1",
        "implant": "STEM-12",
        "lot": "L1",
        "serial": "S1",
        "expiry": "2031-12-31",
        "does_not_expire": False,
        "state": "on the shelf",
        "seq": 1,
        "expected_at": None,
        "location": "A-01",
        "owner": "owned",
        "hold": "",
    }
    assert (second["expiry"], second["does_not_expire"], second["hold"]) == (None, True, "recalled")


def test_filters(get, stem):
    factories.implant(stem.site, "H", "head", diameter=36)
    assert [one["ref"] for one in get("api_implants", role="head")["results"]] == ["H"]
    assert [one["ref"] for one in get("api_implants", offset="high")["results"]] == ["STEM-12"]
    assert [one["code"] for one in get("api_units", implant="STEM-12", lot="L1")["results"]] == [
        "U1"
    ]
    assert get("api_units", implant="H")["count"] == 0
    assert get("api_units", hold="recalled")["count"] == 1


def test_long_lists_come_in_pages(get, stem):
    for number in range(3, 6):
        factories.unit(stem, f"U{number}")
    page = get("api_units", page_size=2, page=2)
    assert (page["count"], [one["code"] for one in page["results"]]) == (5, ["U3", "U4"])
    assert "page=3" in page["next"]


def test_lists_cost_a_fixed_number_of_queries(client_of, manager, stem, django_assert_num_queries):
    browser = client_of(manager)
    # Session, account with its person and permissions; then the count and the rows.
    with django_assert_num_queries(4):
        browser.get(reverse("api_units"))
    with django_assert_num_queries(4):
        browser.get(reverse("api_implants"))


def test_a_browser_gets_the_same_json(client_of, manager, stem):
    accepts = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    answer = client_of(manager).get(reverse("api_units"), headers=accepts)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/json")
