"""One walk through the demonstration, a picture at each stop.

python -m deploy.tour.pictures ADDRESS PICK-LIST.pdf
"""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import pypdfium2
from PIL import Image
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright

from deploy.scripts.browser import ARGUMENTS, find_chromium

HERE = Path(__file__).resolve().parent
DESK: ViewportSize = {"width": 1200, "height": 800}
PHONE: ViewportSize = {"width": 390, "height": 780}
COLOURS = 48
"""The pages have few, so that a picture stays well under 200 kB."""


def keep(name: str, picture: Image.Image) -> None:
    small = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    small.save(HERE / f"{name}.png", optimize=True)


def take(page: Page, name: str, *, height: int | None = None) -> None:
    """What the window shows; with a height, the page from its top down to there."""
    picture = Image.open(io.BytesIO(page.screenshot(full_page=height is not None)))
    keep(name, picture.crop((0, 0, picture.width, height)) if height else picture)


def enter(browser: Browser, address: str, name: str, size: ViewportSize) -> Page:
    page = browser.new_context(base_url=address, viewport=size).new_page()
    page.goto("/log-in/")
    page.get_by_label("Name", exact=True).fill(name)
    # The demonstration's log-in page tells everybody the password.
    told = page.get_by_text("Every account has the password")
    page.get_by_label("Password").fill(told.locator("strong").first.inner_text())
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(lambda url: "/log-in/" not in url)
    return page


def at_a_desk(browser: Browser, address: str) -> None:
    page = enter(browser, address, "coordinator", DESK)
    page.goto("/to-order/")
    take(page, "to-order")
    page.goto("/cases/")
    take(page, "cases")
    page.get_by_role("link", name="OG-1006").first.click()
    page.wait_for_url("**/cases/*/")
    take(page, "case", height=1400)
    page.goto("/days/2027-03-02/")
    take(page, "day", height=1900)
    page.goto("/shelf/")
    take(page, "shelf")
    page.goto("/needed-next/")
    take(page, "needed-next")


def on_a_phone(browser: Browser, address: str) -> None:
    take(enter(browser, address, "surgeon-cedar", PHONE), "your-cases")


def by_scan(browser: Browser, address: str) -> None:
    """A case's list is printed; one of its boxes is scanned, then a box of another size."""
    page = enter(browser, address, "coordinator", PHONE)
    page.goto("/cases/")
    page.get_by_role("link", name="OG-1001").first.click()
    page.get_by_role("link", name="Pick list").click()
    page.get_by_role("button", name="Print and reserve").click()
    page.get_by_role("link", name="Scan against this list").click()
    row = page.get_by_role("row").filter(has_text="LOT").first.inner_text()
    found = re.search(r"REF (\S+).*LOT (\S+)", row, re.DOTALL)
    if found is None:
        raise SystemExit(f"no REF and LOT in: {row}")
    for typed, word, name in (
        (f"{found[1]} {found[2]}", "MATCHES LIST", "scan-matches"),
        ("NA15H-225 X1", "STOP", "scan-stop"),
    ):
        page.get_by_label("Box, tray or list").fill(typed)
        page.keyboard.press("Enter")
        page.get_by_label("Answer").get_by_text(word, exact=True).wait_for()
        take(page, name)


def on_paper(pick_list: str) -> None:
    sheet = pypdfium2.PdfDocument(pick_list)[0].render(scale=1.4).to_pil()
    keep("pick-list", sheet)


def main(address: str, pick_list: str) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=list(ARGUMENTS))
        at_a_desk(browser, address)
        on_a_phone(browser, address)
        by_scan(browser, address)
        browser.close()
    on_paper(pick_list)


if __name__ == "__main__":
    main(*sys.argv[1:])
