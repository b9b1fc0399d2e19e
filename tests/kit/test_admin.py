"""The administrator's pages: site and people; no catalogue without a place of work."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from tests import factories


@pytest.fixture
def administrator(db) -> Client:
    browser = Client()
    browser.force_login(User.objects.create(username="admin", is_staff=True, is_superuser=True))
    return browser


@pytest.mark.parametrize("page", ["kit_site", "kit_person"])
def test_sees_and_adds_sites_and_people(administrator, coordinator, page):
    changelist = administrator.get(reverse(f"admin:{page}_changelist"))
    assert changelist.status_code == 200
    assert "Ottermere General" in changelist.text
    assert administrator.get(reverse(f"admin:{page}_add")).status_code == 200


def test_makes_a_site_whose_address_ends_without_a_slash(administrator):
    site = {
        "name": "Ottermere General",
        "code": "ottermere",
        "timezone": "Europe/London",
        "address": "muster.example.org/",
        "asset_prefix": "0299999",
    }
    page = reverse("admin:kit_site_add")
    refused = administrator.post(page, site | {"timezone": "Europe/Otter"})
    assert "not an IANA time zone: &#x27;Europe/Otter&#x27;" in refused.text
    administrator.post(page, site)
    assert Site.objects.get().address == "https://muster.example.org"


def test_gives_an_account_its_place_of_work(administrator, site):
    account = User.objects.create(username="new")
    administrator.post(reverse("admin:kit_person_add"), {"user": account.pk, "site": site.pk})
    assert Person.objects.get(user=account).site == site


def test_sees_no_catalogue_without_a_place_of_work(administrator, site):
    factories.implant(site)
    for page in ("implants_implant", "trays_tray", "scheduling_technique"):
        assert administrator.get(reverse(f"admin:{page}_changelist")).status_code == 403
    assert "Techniques" not in administrator.get(reverse("admin:index")).text


def test_a_coordinator_sees_neither_sites_nor_people(client_of, coordinator):
    browser = client_of(coordinator)
    for page in ("kit_site", "kit_person", "kit_credential", "kit_securityevent", "auth_user"):
        assert browser.get(reverse(f"admin:{page}_changelist")).status_code == 403
