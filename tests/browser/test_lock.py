"""The lock of an idle page: covers it, keeps what was typed, opens for the same person."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from scheduling.demonstration.people import DEMO_PIN, badge_of
from tests.browser.steps import log_in

pytestmark = pytest.mark.any_database


def lock_idle_page(page: Page) -> None:
    """Ten idle minutes pass, for the browser's own clock."""
    with page.expect_response("**/lock/"):
        page.clock.fast_forward(10 * 60 * 1000)
    expect(page.get_by_role("dialog", name="Locked")).to_be_visible()


@pytest.fixture
def typed(page: Page) -> Page:
    """The coordinator has typed into the scan page, and sent nothing."""
    page.clock.install()
    log_in(page, "coordinator")
    # Waits until the page is loaded, its scripts run: the lock counts from there.
    page.goto("/scan/")
    page.get_by_label("List", exact=True).fill("half a code")
    return page


def unlock(page: Page, secret: str) -> None:
    page.get_by_label("PIN or password").fill(secret)
    page.get_by_role("button", name="Unlock").click()


def test_an_idle_page_is_covered_and_opens_with_what_was_typed(typed: Page) -> None:
    lock_idle_page(typed)
    expect(typed.get_by_role("heading", level=1)).not_to_be_visible()
    expect(typed).to_have_title("Locked · Muster")
    unlock(typed, "0815")
    expect(typed.get_by_role("alert")).to_contain_text("not your PIN or password")
    unlock(typed, DEMO_PIN)
    expect(typed.get_by_role("dialog")).not_to_be_visible()
    expect(typed.get_by_label("List", exact=True)).to_have_value("half a code")


def test_the_server_is_locked_with_the_page(typed: Page) -> None:
    lock_idle_page(typed)
    typed.goto("/shelf/")
    expect(typed.get_by_role("heading", level=1)).to_have_text("Locked")
    typed.get_by_label("PIN or password").first.fill(DEMO_PIN)
    typed.get_by_role("button", name="Unlock").first.click()
    expect(typed).to_have_url(re.compile("/shelf/$"))


def test_a_page_at_work_is_not_covered(typed: Page) -> None:
    for _ in range(3):
        typed.clock.fast_forward(9 * 60 * 1000)
        typed.keyboard.press("Shift")
    expect(typed.get_by_role("dialog")).not_to_be_visible()


def test_another_person_finds_what_was_typed_and_is_told(typed: Page) -> None:
    lock_idle_page(typed)
    typed.get_by_role("dialog").get_by_role("link", name="Another person").click()
    typed.get_by_label("Badge").fill(badge_of("sterile"))
    typed.get_by_label("PIN, to act").fill(DEMO_PIN)
    typed.get_by_role("button", name="Go on").click()
    # Gone on: leaving before would take the switch back to the one who was there.
    expect(typed.get_by_title("Your PIN")).to_have_text("Sterile services")
    typed.goto("/scan/")
    expect(typed.get_by_label("List", exact=True)).to_have_value("half a code")
    expect(typed.get_by_text("Check it before you send it")).to_be_visible()


def test_a_badge_looks_and_the_pin_acts(page: Page) -> None:
    page.goto("/switch/")
    page.get_by_label("Badge").fill(badge_of("sterile"))
    page.keyboard.press("Enter")  # as a scanner ends
    expect(page.get_by_text("looking only")).to_be_visible()
    page.goto("/scan/")
    expect(page.get_by_role("heading", level=1)).to_have_text("To act, give your PIN")
    page.get_by_label("PIN or password").first.fill(DEMO_PIN)
    page.get_by_role("button", name="Go on").click()
    expect(page).to_have_url(re.compile("/scan/$"))
    expect(page.get_by_text("looking only")).to_have_count(0)
