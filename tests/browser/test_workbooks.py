"""A workbook that is refused or fails: whoever sent it is told, and can send it on."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from deploy.kit.workbooks.writing import write_workbook
from scheduling.models import Surgeon
from scheduling.workbooks.house import SURGEONS, House
from tests.browser.steps import log_in

pytestmark = pytest.mark.any_database

MANY = 501
"""Rows that take a second person."""


@pytest.fixture
def looked_at(page: Page) -> Page:
    """The coordinator has sent a house of many surgeons, and sees what would change."""
    rows = [{"Surgeon": f"Surgeon {number}"} for number in range(MANY)]
    log_in(page, "coordinator")
    page.goto("/workbooks/")
    page.get_by_label("House: file to send").set_input_files(
        {
            "name": "house.xlsx",
            "mimeType": "application/octet-stream",
            "buffer": write_workbook(House.spec, {SURGEONS.name: rows}),
        }
    )
    page.locator("form[action$='/house/']").get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("heading", name="This is what would change")).to_be_visible()
    return page


def test_a_refused_signature_is_told_and_the_second_person_writes(looked_at: Page) -> None:
    page = looked_at
    write(page, "coordinator")
    expect(page.get_by_role("main")).to_contain_text("different")
    assert not Surgeon.objects.filter(name="Surgeon 500").exists()
    write(page, "administrator")
    expect(page.get_by_role("heading", name="Written")).to_be_visible()
    assert Surgeon.objects.filter(name="Surgeon 500").exists()


def test_a_failure_is_told(looked_at: Page, complaints: list[str]) -> None:
    page = looked_at
    address = page.url
    page.route(address, lambda route: route.fulfill(status=500, body="down"))
    write(page, "administrator")
    expect(page.get_by_role("alert")).to_contain_text("Muster failed at this.")
    expect(page.get_by_role("button", name="Write all of it")).to_be_visible()
    assert [text for text in complaints if "500" in text]
    complaints.clear()
    page.unroute(address)
    write(page, "administrator")
    expect(page.get_by_role("heading", name="Written")).to_be_visible()


def write(page: Page, second: str) -> None:
    page.get_by_label("Second person: badge, or user name").fill(second)
    page.get_by_label("Their PIN or password").fill("4071")
    page.get_by_role("button", name="Write all of it").click()
