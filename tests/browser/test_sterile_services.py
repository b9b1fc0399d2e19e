"""One tray through every stage with a scanner's key strokes; on the way a reamer is missing.

Nothing asks for a mouse: everything here is typed, or scanned, which is typing.
"""

from __future__ import annotations

import pypdfium2
from playwright.sync_api import Page, expect

from deploy.kit.models import Site
from scheduling.demonstration.people import DEMO_PIN
from scheduling.queries import coverage_now
from tests.browser.steps import log_in
from trays.models import Load, Tray

TRAY = "STAND-A/1"
PATIENCE = 20_000
"""Milliseconds.  What is missing is answered with every case judged anew."""


class Bench:
    def __init__(self, page: Page, site: Site) -> None:
        self.page = page
        self.site = site

    def scan(self, text: str) -> None:
        """A scanner types into whatever has the focus, and ends with Enter."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def hears(self, word: str, title: str = "") -> None:
        expect(self.page.locator(".answer__word")).to_have_text(word, timeout=PATIENCE)
        if title:
            expect(self.page.locator(".answer__title").first).to_contain_text(title)

    def at(self, heading: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)

    def station(self, slug: str, heading: str) -> None:
        """The station's code on the wall, scanned from wherever one is."""
        self.scan(f"{self.site.address.upper()}/bench/{slug}/")
        self.at(heading)

    def press(self, name: str) -> None:
        """To the button by keyboard, and Enter."""
        self.page.get_by_role("button", name=name).focus()
        self.page.keyboard.press("Enter")

    def file(self, name: str) -> str:
        """The text of a print."""
        address = self.page.get_by_role("link", name=name).get_attribute("href")
        assert address is not None
        body = self.page.request.get(self.site.address + address).body()
        return " ".join(
            page.get_textpage().get_text_range().replace("\r\n", " ")
            for page in pypdfium2.PdfDocument(body)
        )


def verdicts(site: Site) -> dict[str, str]:
    return {case.case: str(case.verdict) for case in coverage_now(site).report.cases}


def test_the_wall_fits_its_screen(page: Page, hospital: Site) -> None:
    """Nobody scrolls there: the cautions and what is left out are in sight too."""
    log_in(page, "sterile")
    page.set_viewport_size({"width": 1920, "height": 1080})
    page.goto("/needed-next/wall/")
    expect(page.locator(".wall__rows tbody tr").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollHeight") <= 1080


def test_a_tray_through_every_stage_and_a_missing_reamer(page: Page, hospital: Site) -> None:
    tray = Tray.objects.get(code=TRAY)
    bench = Bench(page, hospital)
    log_in(page, "sterile")
    page.goto("/bench/")
    bench.scan("7")
    bench.at("Issue")
    bench.scan("OG-1002")
    expect(page.locator(".said-first")).to_have_text("Case OG-1002")
    bench.scan(TRAY)
    bench.hears("MOVED", "now issued to case OG-1002")
    bench.station("theatre", "In theatre")
    bench.scan(tray.asset)
    bench.hears("MOVED", "now in theatre")
    bench.station("assembly", "Inspection and assembly")
    bench.scan(TRAY)
    bench.hears("STOP", "has to be at cleaning")
    bench.station("returned", "Returned used")
    bench.scan(TRAY)
    bench.hears("MOVED", "now returned used")
    bench.scan("W1")
    bench.at("Load W1-1")
    bench.scan(TRAY)
    bench.hears("MOVED", "now in load W1-1")
    bench.press("Start load W1-1")
    bench.press("I have checked it: pass")
    expect(page.locator(".state-word")).to_have_text("passed")
    page.goto("/bench/assembly/")
    bench.scan(TRAY)
    bench.at(TRAY)

    before = verdicts(hospital)
    missing = ""
    for number in range(tray.version.contents.count()):
        expect(page.locator(".progress strong")).to_contain_text(f"{number} of ")
        if not missing and "reamer" in page.locator(".line-at-hand__what").inner_text():
            missing = page.locator(".line-at-hand__ref .code").inner_text()
            bench.scan("0")
            bench.hears("MISSING", missing)
            # What can be typed can be pressed too, with gloves on; the scanner still types.
            bench.press("one line back")
            expect(page.locator(".line-at-hand__ref .code")).to_have_text(missing)
            bench.press("missing")
            bench.hears("MISSING", missing)
            expect(page.get_by_label("How many are there?")).to_be_focused()
            expect(page.get_by_role("heading", name="Who needs reamer")).to_be_visible()
            expect(page.locator(".who-needs tbody tr").first).to_be_visible()
        else:
            bench.scan("p")
    assert missing
    after = verdicts(hospital)
    assert dict(tray.missing_lines.values_list("instrument__ref", "quantity")) == {missing: 1}
    assert before.keys() == after.keys()
    expect(page.locator("main")).to_contain_text("Goes with shortages")
    assert missing in bench.file("Print the count sheet")
    bench.press("Close the count sheet")
    bench.at(f"Packing {TRAY}")
    bench.scan("10,2")
    bench.at(f"Packed {TRAY}")
    label = bench.file("Print the label")
    assert TRAY in label
    assert "LACKS 1 × reamer" in label
    assert missing in label

    page.goto("/bench/")
    bench.scan("S1")
    bench.at("Load S1-1")
    bench.scan(TRAY)
    bench.hears("MOVED", "now in load S1-1")
    bench.press("Start load S1-1")
    page.get_by_label("Lowest °C while held").focus()
    for value in ("134,2", "135,1", "3,5"):
        page.keyboard.type(value)
        page.keyboard.press("Tab")
    bench.press("I have checked it: pass")
    expect(page.locator(".state-word")).to_have_text("awaiting release")
    expect(page.get_by_label("Your PIN or password, to sign").first).to_be_focused()
    bench.scan(DEMO_PIN)
    expect(page.locator(".state-word")).to_have_text("released")
    page.goto("/bench/store/")
    bench.scan("R-02-9")
    expect(page.locator(".said-first")).to_have_text("Place R-02-9")
    bench.scan(TRAY)
    bench.hears("MOVED", "now lies at R-02-9")
    tray.refresh_from_db()
    assert (tray.stage, tray.location) == ("sterile store", "R-02-9")
    assert Load.objects.get(machine__code="S1").released_by.username == "sterile"
