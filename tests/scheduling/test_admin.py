"""The admin as a whole: who sees what, and the house's settings."""

from __future__ import annotations

import re

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from scheduling.models import HouseSettings, OpeningHours
from tests import factories
from tests.admin_forms import send

OURS = sorted(
    f"{model._meta.app_label}_{model._meta.model_name}"
    for model in admin.site._registry
    if model._meta.app_label in ("trays", "implants", "scheduling")
)


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


@pytest.mark.parametrize("model", OURS)
@pytest.mark.parametrize("page", ["changelist", "add"])
def test_every_page_opens_for_the_coordinator_alone(page, model, browser, client_of, manager, site):
    HouseSettings.objects.all().delete()  # there may be one a site: its add page is then closed
    url = reverse(f"admin:{model}_{page}")
    answer = browser.get(url)
    assert answer.status_code == 200
    assert not re.search(r"<script(?![^>]*(src=|application/json))|<style| style=", answer.text)
    assert client_of(manager).get(url).status_code == 302


def test_only_the_rows_of_ones_own_site_are_there(browser, site, stranger):
    ours, theirs = factories.implant(site), factories.implant(stranger.site, "THEIRS")
    page = browser.get(reverse("admin:implants_implant_changelist"))
    assert "STEM-12" in page.text
    assert "THEIRS" not in page.text
    change = "admin:implants_implant_change"
    assert browser.get(reverse(change, args=[ours.pk])).status_code == 200
    assert browser.get(reverse(change, args=[theirs.pk])).status_code == 302


def test_a_list_costs_a_fixed_number_of_queries(browser, site, django_assert_num_queries):
    implant = factories.implant(site)
    for number in range(5):
        factories.unit(implant, f"U{number}")
    browser.get(reverse("admin:implants_unit_changelist"))
    with django_assert_num_queries(9):
        browser.get(reverse("admin:implants_unit_changelist"))


def test_hours_are_written_as_on_a_clock(browser, site):
    hours = {"weekday": 5, "opens_minute": "8:00", "closes_minute": "24:00"}
    assert not send(browser, "scheduling_openinghours_add", **hours)
    saturday = OpeningHours.objects.get(weekday=5)
    assert (saturday.site, saturday.opens_minute, saturday.closes_minute) == (site, 480, 1440)
    page = browser.get(reverse("admin:scheduling_openinghours_change", args=[saturday.pk]))
    assert 'value="08:00"' in page.text
    assert 'value="24:00"' in page.text


def test_hours_that_make_no_sense_are_refused(browser, site):
    hours = {"weekday": 5, "opens_minute": "16.00", "closes_minute": "25:00"}
    assert send(browser, "scheduling_openinghours_add", **hours) == [
        "a time of day as HH:MM, not “16.00”",
        "a time of day as HH:MM, not “25:00”",
    ]
    hours = {"weekday": 5, "opens_minute": "16:00", "closes_minute": "08:00"}
    assert send(browser, "scheduling_openinghours_add", **hours) == ["after it opens"]


def test_a_site_has_one_row_of_house_settings(browser, site):
    house = HouseSettings.objects.get()
    assert browser.get(reverse("admin:scheduling_housesettings_add")).status_code == 403
    values = {
        "needed_before_minutes": 90,
        "out_of_theatre_minutes": 15,
        "shelf_return_minutes": 60,
        "loan_check_in_minutes": 120,
        "order_cut_off_minute": "15:30",
        "delivery_minute": "12:00",
        "short_dated_days": 90,
        "loan_hours_ahead": 48,
        "transport_minutes": 0,
        "size_risk_least_cases": 30,
    }
    assert not send(browser, "scheduling_housesettings_change", house.pk, **values)
    house.refresh_from_db()
    assert (house.needed_before_minutes, house.order_cut_off_minute) == (90, 15 * 60 + 30)
