"""A whole day of the implant coordinator, from the delivery to the count."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from implants.models import Arrival, Implant, Order, Supplier, Unit
from scheduling.models import Case
from tests.browser.steps import log_in

pytestmark = pytest.mark.any_database

USE_BY, TOO_NEAR = "301231", "270402"
HEAD, CASE = "SH-C28M4", "OG-1021"
"""The one head that OG-1021 plans: the only box of it expires on the day before."""


def send(page: Page, text: str) -> None:
    """As a scanner does: it types into whatever has the focus, and ends with Enter."""
    expect(page.locator("[data-scan-field]")).to_be_focused()
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def label(item: Implant, lot: str, use_by: str = USE_BY) -> str:
    return f"]d201{item.gtin}17{use_by}10{lot}"


def verdict(page: Page) -> Locator:
    """Of the case that lacks the head, on its own page."""
    page.goto(f"/cases/{Case.objects.get(ref=CASE).pk}/")
    return page.locator(".verdict").first


def row_of(page: Page) -> Locator:
    """The head's row on the order list."""
    page.get_by_role("link", name="To order").click()
    return page.get_by_role("listitem").filter(has=page.get_by_text(f"REF {HEAD}", exact=True))


def test_the_day_from_the_delivery_to_the_count(page: Page) -> None:
    supplier = Supplier.objects.create(
        site=Case.objects.get(ref=CASE).site, code="SOUTH", name="Maker South"
    )
    Implant.objects.filter(ref__startswith="S").update(supplier=supplier)
    log_in(page, "coordinator")
    place = ten_boxes_are_received_and_one_is_refused(page)
    a_gap_is_found_and_ordered(page)
    what_was_ordered_comes_and_the_gap_is_gone(page, place)
    its_lot_is_recalled_and_the_gap_is_back(page)
    the_place_is_counted(page, place)


def ten_boxes_are_received_and_one_is_refused(page: Page) -> str:
    page.get_by_role("link", name="Receive").click()
    before = Unit.objects.count()
    items = list(Implant.objects.filter(role="head").exclude(gtin="").exclude(ref=HEAD)[:10])
    place = items[0].units.exclude(location="")[0].location
    answer = page.get_by_label("Answer")
    for number, item in enumerate(items):
        too_near = number == 4
        send(page, label(item, f"BENCH{number}", TOO_NEAR if too_near else USE_BY))
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
    return str(place)


def a_gap_is_found_and_ordered(page: Page) -> None:
    expect(verdict(page)).to_contain_text("Not covered")
    row = row_of(page)
    expect(row).to_contain_text(CASE)
    expect(row).to_contain_text("Tue 2 Mar")  # the last moment to order
    chosen = page.get_by_role("checkbox", checked=True)
    for _ in range(chosen.count()):
        chosen.first.uncheck()
    row.get_by_role("checkbox").check()
    page.get_by_role("button", name="Make drafts of the chosen lines").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("draft")
    page.get_by_role("button", name="The supplier has it now").click()
    page.get_by_label("Their number").fill("S-1")
    page.get_by_label("Expected on").fill("2027-03-03")
    page.get_by_role("button", name="Take down the answer").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("confirmed")
    expect(page.get_by_role("table")).to_contain_text(CASE)
    # On its way is not here: the case depends on it.
    expect(verdict(page)).to_contain_text("At risk")


def what_was_ordered_comes_and_the_gap_is_gone(page: Page, place: str) -> None:
    head = Implant.objects.get(ref=HEAD)
    awaited = Unit.objects.filter(implant=head, state="awaited").count()
    assert awaited
    page.get_by_role("link", name="Receive").click()
    for number in range(awaited):
        send(page, f"{label(head, 'DAY1')}\x1d21{number}")
        expect(page.get_by_label("Answer")).to_contain_text("This box was awaited")
        send(page, place)
        expect(page.get_by_label("Answer")).to_contain_text("RECEIVED")
    expect(row_of(page)).to_have_count(0)
    expect(verdict(page)).to_contain_text("Covered")
    page.goto(f"/orders/{Order.objects.get().code}/")
    page.get_by_role("button", name="Close: nothing more is to come").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("closed")


def its_lot_is_recalled_and_the_gap_is_back(page: Page) -> None:
    page.get_by_role("link", name="Receive").click()
    page.get_by_role("link", name="Recalls").click()
    page.get_by_label("Which notice").fill("FSN 12")
    page.get_by_label("What it names").fill(f"{HEAD} DAY1")
    page.get_by_role("button", name="Show what it hits").click()
    hit = Unit.objects.filter(lot="DAY1").count()
    expect(page.get_by_role("heading", name=f"{hit} box")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text(CASE)
    page.get_by_role("button", name="Hold these boxes now").click()
    expect(page.get_by_text(f"0 of {hit} found or accounted for")).to_be_visible()
    for number in range(hit):
        send(page, f"{label(Implant.objects.get(ref=HEAD), 'DAY1')}\x1d21{number}")
        expect(page.get_by_text(f"{number + 1} of {hit} found or accounted for")).to_be_visible()
    expect(verdict(page)).to_contain_text("Not covered")


def the_place_is_counted(page: Page, place: str) -> None:
    page.get_by_role("link", name="Receive").click()
    page.get_by_role("link", name="Counts").click()
    page.get_by_label("Place to count").fill(place)
    page.get_by_role("button", name="Count blind").click()
    lying = list(Unit.objects.filter(location=place).select_related("implant").order_by("pk"))
    missing, *there = lying
    for number, unit in enumerate(there, start=1):
        send(page, unit.code)
        expect(page.get_by_label("Answer")).to_contain_text("COUNTED")
        expect(page.get_by_text(f"{number} scanned", exact=True)).to_be_visible()
    page.get_by_role("link", name="All scanned: show the differences").click()
    expect(page.get_by_text("Not scanned")).to_have_count(1)
    page.get_by_label("What it is").select_option("missing")
    page.get_by_role("button", name="Close the count").click()
    expect(page.get_by_text("Closed")).to_be_visible()
    missing.refresh_from_db()
    assert missing.hold.startswith("missing at count")
