from __future__ import annotations

import re

import pytest
from django.urls import reverse

from implants.models import Unit
from scheduling.operations.pick_lists import print_and_reserve
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import GTIN, House, house
from trays.models import MissingLine


@pytest.fixture
def of(site) -> House:
    return house(site)


STEM = f"/01/{GTIN}/10/LX/21/1"


def test_a_box_in_words(of, coordinator, client_of):
    page = client_of(coordinator).get(STEM).content.decode()
    for said in (
        "Stem, size 12, HIGH offset, 225 mm",
        "ST-12H",
        "Box S1",
        "31 Dec 2031",
        "Shelf A-2",
        "<dt>Reserved for</dt><dd>nobody</dd>",
        "<dt>Meant for</dt><dd>C1</dd>",
        "as of",
    ):
        assert said in page
    assert "Box S2" not in page


def test_an_item_without_a_lot_shows_every_box(of, coordinator, client_of):
    page = client_of(coordinator).get(f"/01/{GTIN}").content.decode()
    assert "Box S1" in page
    assert "Box S2" in page


def test_for_whom_a_box_is_reserved(of, coordinator, client_of):
    print_and_reserve(case=of.case, by=coordinator, now=NOW)
    page = client_of(coordinator).get(STEM).content.decode()
    assert "<dt>Reserved for</dt><dd>C1</dd>" in page


def test_a_surgeon_does_not_see_the_reference_of_anothers_case(of, surgeon, client_of):
    page = client_of(surgeon).get(STEM).content.decode()
    assert "<dt>Meant for</dt><dd>another case</dd>" in page
    # In the words only: a form's random token may hold any two letters.
    assert "C1" not in re.sub(r"<[^>]*>", " ", page)


def test_what_may_not_be_used_is_said_beside_the_name(of, coordinator, client_of):
    factories.held(of.stems[0], "recalled: lot LX")
    Unit.objects.filter(pk=of.stems[0].pk).update(expiry=NOW.date().replace(year=2026))
    page = client_of(coordinator).get(STEM).content.decode()
    assert '<span class="tag tag--strong">On hold</span>' in page
    assert '<span class="tag tag--strong">Expired</span>' in page
    assert "recalled: lot LX" in page


def test_a_lot_that_the_house_does_not_have(of, coordinator, client_of):
    page = client_of(coordinator).get(f"/01/{GTIN}/10/NONE").content.decode()
    assert "No box of this site has this LOT or serial." in page


@pytest.mark.parametrize("address", ["/8004/0299999BASE1", "/u/BASE%2F1"])
def test_a_tray(of, coordinator, client_of, address):
    MissingLine.objects.create(tray=of.trays[0], instrument=of.reamer)
    of.trays[0].note = "handle worn"
    of.trays[0].save()
    page = client_of(coordinator).get(address).content.decode()
    for said in ("BASE/1", "sterile store", "Store R-1", "1 × REAM-12", "handle worn"):
        assert said in page


def test_a_box_by_the_houses_own_code(of, coordinator, client_of):
    page = client_of(coordinator).get(reverse("house_link", args=["H1"])).content.decode()
    assert "Box H1" in page
    assert "Box H2" not in page


@pytest.mark.parametrize(
    "address",
    [
        "/01/02000000000022",  # no such item here
        "/01/02000000000016",  # wrong check digit
        "/01/nonsense",
        "/8004/NOBODY",
        "/u/NOTHING",
    ],
)
def test_nothing_behind_a_code(of, coordinator, client_of, address):
    assert client_of(coordinator).get(address).status_code == 404


@pytest.mark.parametrize("address", [STEM, "/8004/0299999BASE1", "/u/H1"])
def test_refuses_the_stranger_and_asks_the_unknown_to_log_in(
    of, stranger, client_of, client, address
):
    assert client_of(stranger).get(address).status_code == 404
    assert client.get(address).url.startswith("/log-in/")


def test_a_lot_of_the_print_is_found_by_a_phone(of, coordinator, client_of):
    """What the paper's code opens, characters that need encoding included."""
    unit = factories.unit(of.stem, "S3", lot="L+1%A", serial="3")
    version = print_and_reserve(case=of.case, by=coordinator, now=NOW)
    link = version.content["sections"][0]["boxes"][0]["link"]
    path = link.removeprefix("HTTP://127.0.0.1:8000")
    assert "Box S1" in client_of(coordinator).get(path).content.decode()
    page = client_of(coordinator).get(f"/01/{GTIN}/10/L%2B1%25A/21/3").content.decode()
    assert f"Box {unit.code}" in page


@pytest.mark.parametrize(("address", "queries"), [(STEM, 29), ("/8004/0299999BASE1", 28)])
def test_costs_a_fixed_number_of_queries(
    of, coordinator, client_of, django_assert_num_queries, address, queries
):
    client = client_of(coordinator)
    with django_assert_num_queries(queries):
        client.get(address)
