"""What people do in a browser, and how large theirs is."""

from __future__ import annotations

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, ViewportSize

from scheduling.demonstration.people import DEMO_PASSWORD

DESK: ViewportSize = {"width": 1280, "height": 900}
PHONE: ViewportSize = {"width": 390, "height": 844}


def log_in(page: Page, name: str) -> None:
    """By the form, as people do."""
    page.goto("/log-in/")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password").fill(DEMO_PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(lambda url: "/log-in/" not in url)


ONLY = {"resultTypes": ["violations"]}
"""All rules; but of what passes axe-core then says no more than one example."""


def found_by_axe(page: Page) -> list[str]:
    """What axe-core finds wrong with the page as it stands: rule, weight, and where first."""
    found = Axe().run(page, options=ONLY).response["violations"]
    return [
        f"{fault['id']} ({fault['impact']}), {len(fault['nodes'])} times, first "
        f"{fault['nodes'][0]['html'][:160]}"
        for fault in found
    ]


KEYBOARD = (Path(__file__).parent / "keyboard.js").read_text()


def found_by_keyboard(page: Page) -> list[str]:
    """What cannot be done with the keyboard alone: each control is reached in the page's order and
    shows the focus, Enter sends each form, the scanner types into its field, nothing traps."""
    page.keyboard.press("Shift")  # From here on the browser shows where the focus is.
    faults: list[str]
    faults, has_controls = page.evaluate(KEYBOARD)
    for key in ("Shift+Tab", "Tab", "Tab") if has_controls else ():
        before = page.evaluate_handle("document.activeElement")
        page.keyboard.press(key)
        if page.evaluate("before => document.activeElement === before", before):
            faults.append(f"{key} leads nowhere from {before}")
    return faults
