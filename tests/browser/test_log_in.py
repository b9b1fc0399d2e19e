from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from scheduling.demonstration.people import DEMO_PASSWORD
from tests.browser.steps import log_in

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("name", "home"),
    [
        ("sterile", "Needed next"),
        ("coordinator", "To order"),
        ("surgeon-ash", "Your booked cases"),
        ("theatre", "Monday 1 March 2027"),
        ("manager", "All booked cases"),
    ],
)
def test_each_role_lands_on_its_home(page: Page, name: str, home: str) -> None:
    log_in(page, name)
    expect(page.get_by_role("heading", level=1)).to_contain_text(home)
    expect(page.get_by_text("as of 06:45").first).to_be_visible()


def test_a_wrong_password_lets_nobody_in(page: Page) -> None:
    page.goto("/cases/")
    page.get_by_label("Name", exact=True).fill("coordinator")
    page.get_by_label("Password").fill("not the word")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("alert")).to_contain_text("Not logged in.")
    page.goto("/cases/")
    expect(page).to_have_url(re.compile("/log-in/"))


def test_the_log_in_page_shows_the_people_of_the_demonstration(page: Page) -> None:
    page.goto("/log-in/")
    expect(page.get_by_text(DEMO_PASSWORD)).to_be_visible()
    expect(page.get_by_role("row", name="surgeon-cedar surgeon")).to_be_visible()


def test_log_out_closes_the_door(page: Page) -> None:
    log_in(page, "theatre")
    page.get_by_role("button", name="Log out").click()
    page.goto("/scan/")
    expect(page).to_have_url(re.compile("/log-in/"))
