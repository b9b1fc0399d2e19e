"""What people do in a browser, and how large theirs is."""

from __future__ import annotations

from playwright.sync_api import Page, ViewportSize

from scheduling.demo_people import DEMO_PASSWORD

DESK: ViewportSize = {"width": 1280, "height": 900}
PHONE: ViewportSize = {"width": 390, "height": 844}


def log_in(page: Page, name: str) -> None:
    """By the form, as people do."""
    page.goto("/log-in/")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password").fill(DEMO_PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(lambda url: "/log-in/" not in url)
