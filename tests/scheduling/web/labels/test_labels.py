"""Printed labels of places and boxes, and the page behind a place's code."""

from __future__ import annotations

import pytest
from django.urls import reverse

from deploy.kit.house_links import HouseKind, house_link, read_house_link
from implants.places import place_named
from tests import factories
from tests.implants.labels import stem

PLACE = "Store A-01"


@pytest.fixture
def box(site):
    return factories.unit(stem(site), "STEM-12/1", lot="L1", location=PLACE)


@pytest.fixture
def browser(coordinator, client_of):
    return client_of(coordinator)


def test_a_places_code_is_read_back_and_opens_its_page(browser, box, site):
    link = house_link(site.address, PLACE, HouseKind.PLACE)
    assert place_named(link, site) == PLACE
    assert read_house_link(link).code == PLACE
    page = browser.get(reverse("place", args=[PLACE])).content.decode()
    assert "1 box recorded here." in page
    assert "LOT L1" in page
    assert browser.get(reverse("place", args=["nowhere"])).status_code == 404


def test_the_sheet_has_a_code_for_every_place(browser, box):
    page = browser.get(reverse("place_labels")).content.decode()
    assert f'aria-label="QR code: {PLACE}"' in page


def test_a_boxs_label(browser, box):
    page = browser.get(reverse("box_label", args=[box.pk])).content.decode()
    assert 'aria-label="QR code: STEM-12/1"' in page
    assert "stem, size 12, HIGH offset, 225 mm" in page


def test_refuses_who_may_only_read_and_the_stranger(box, theatre_team, stranger, client_of):
    reader, elsewhere = client_of(theatre_team), client_of(stranger)
    assert reader.get(reverse("place", args=[PLACE])).status_code == 200
    assert reader.get(reverse("place_labels")).status_code == 403
    assert reader.get(reverse("box_label", args=[box.pk])).status_code == 403
    assert elsewhere.get(reverse("place", args=[PLACE])).status_code == 404
    assert elsewhere.get(reverse("box_label", args=[box.pk])).status_code == 404
    assert PLACE not in elsewhere.get(reverse("place_labels")).content.decode()


def test_costs_a_fixed_number_of_queries(browser, box, django_assert_num_queries):
    for address in (
        reverse("place", args=[PLACE]),
        reverse("place_labels"),
        reverse("box_label", args=[box.pk]),
    ):
        with django_assert_num_queries(3):
            browser.get(address)
