"""A delivery at the receiving bench, by scanner alone: ten boxes, one of them refused."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from implants.models import Arrival, Implant, Unit
from tests.browser.steps import log_in

USE_BY, TOO_NEAR = "301231", "270402"


def send(page: Page, text: str) -> None:
    """As a scanner does: it types into whatever has the focus, and ends with Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def test_ten_boxes_are_received_and_one_is_refused(page: Page) -> None:
    log_in(page, "coordinator")
    page.get_by_role("link", name="Receive").click()
    expect(page.get_by_label("Box; or type REF and LOT")).to_be_focused()
    before = Unit.objects.count()
    items = list(Implant.objects.filter(role="head").exclude(gtin="")[:10])
    place = items[0].units.exclude(location="")[0].location
    answer = page.get_by_label("Answer")
    for number, item in enumerate(items):
        too_near = number == 4
        lot = f"10BENCH{number}"
        send(page, f"]d201{item.gtin}17{TOO_NEAR if too_near else USE_BY}{lot}")
        if too_near:
            expect(answer).to_contain_text("STOP")
            expect(answer.locator("dd")).to_contain_text(["or later", "use by 02 Apr 2027"])
            expect(answer).to_contain_text("put it on the quarantine shelf")
            continue
        expect(answer).to_contain_text("CHECK BOX")
        expect(answer).to_contain_text(item.in_words())
        send(page, place)
        expect(answer).to_contain_text("RECEIVED")
        expect(answer).to_contain_text(place)
    new = Unit.objects.filter(lot__startswith="BENCH")
    assert Unit.objects.count() == before + 10
    assert new.filter(state="on the shelf", location=place).count() == 9
    assert new.get(state="quarantine").lot == "BENCH4"

    send(page, "+A999ABC123DE0/$+1234567Y")
    expect(answer).to_contain_text("Not in the catalogue")
    page.get_by_role("link", name=re.compile("1 not in the catalogue")).click()
    page.get_by_label("REF in the catalogue").fill(items[0].ref)
    page.get_by_role("button", name="Link to this item").click()
    expect(page.get_by_text("Scan the box again to receive.")).to_be_visible()
    assert Arrival.objects.filter(outcome="linked to the catalogue").count() == 1
