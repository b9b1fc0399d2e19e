"""The main job in the browser: from the verdict to the case, onto paper, and by scan to the box."""

from __future__ import annotations

import re

from playwright.sync_api import Page, Route, expect

from implants.models import Unit
from scheduling.models import Case, PickLine, PickListVersion, UnitReservation
from scheduling.pick_lists.links import box_link, tray_link
from tests import factories
from tests.browser.steps import log_in

COVERED = "OG-1001"


def element_string(unit: Unit, *, lot: str | None = None) -> str:
    """The box's label as a scanner sends it: GTIN, use by, LOT (last, so it needs no separator)."""
    assert unit.expiry is not None
    return f"]d201{unit.implant.gtin}17{unit.expiry:%y%m%d}10{lot or unit.lot}"


def open_case(page: Page, ref: str) -> None:
    page.get_by_role("link", name="All booked cases").click()
    page.get_by_role("link", name=ref).first.click()
    expect(page).to_have_url(re.compile(r"/cases/\d+/$"))


def open_scan_page(page: Page) -> None:
    """A scanner can be used at once: the field has the focus."""
    page.get_by_role("link", name="Scan against this list").click()
    expect(page.get_by_label("Box, tray or list")).to_be_focused()


def send(page: Page, text: str) -> None:
    """As a scanner does: it types into whatever has the focus, and ends with Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def printed_lines() -> list[PickLine]:
    version = PickListVersion.objects.get(pick_list__case__ref=COVERED)
    lines = version.lines.select_related("unit__implant", "tray")
    return list(lines.order_by("position"))


def print_list(page: Page, button: str) -> None:
    log_in(page, "coordinator")
    open_case(page, COVERED)
    page.get_by_role("link", name="Pick list").click()
    page.get_by_role("button", name=button, exact=True).click()
    expect(page.get_by_text("Version 1").first).to_be_visible()


def test_a_verdict_names_its_cause_on_the_list_and_on_the_case(page: Page) -> None:
    log_in(page, "coordinator")
    page.get_by_role("link", name="All booked cases").click()
    line = page.get_by_role("row").filter(has=page.get_by_role("link", name="OG-1006"))
    expect(line).to_contain_text("Not covered")
    expect(line).to_contain_text("stem A, size 15, HIGH offset, 225 mm")
    page.get_by_role("link", name="OG-1006").first.click()
    verdict = page.get_by_label("Verdict")
    expect(verdict).to_contain_text("Not covered")
    expect(verdict).to_contain_text("OG-1043")
    expect(verdict).to_contain_text("as of 06:45")
    expect(page.get_by_role("contentinfo")).to_contain_text("Decision support")


def test_a_surgeon_sees_their_own_cases_alone(page: Page) -> None:
    log_in(page, "surgeon-cedar")
    expect(page.get_by_role("link", name="OG-1006")).to_be_visible()
    expect(page.get_by_role("link", name="OG-1001")).to_have_count(0)


def test_print_and_reserve_holds_what_the_list_names(page: Page) -> None:
    print_list(page, "Print and reserve all of it")
    expect(page.get_by_text("What this list names is reserved for its case.")).to_be_visible()
    boxes = {line.unit_id for line in printed_lines() if line.unit_id}
    held = UnitReservation.objects.filter(case__ref=COVERED, freed_at=None)
    assert {reservation.unit_id for reservation in held} == boxes
    link = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    assert link is not None
    answer = page.request.get(link)
    assert (answer.headers["content-type"], answer.body()[:5]) == ("application/pdf", b"%PDF-")


def test_print_alone_reserves_nothing(page: Page) -> None:
    print_list(page, "Print")
    assert not UnitReservation.objects.filter(case__ref=COVERED).exists()


def test_a_right_box_is_ticked_and_a_second_scan_of_it_is_harmless(page: Page) -> None:
    print_list(page, "Print and reserve all of it")
    open_scan_page(page)
    box = next(line.unit for line in printed_lines() if line.unit and not line.unit.serial)
    answer = page.get_by_label("Answer")

    send(page, element_string(box))
    expect(answer).to_contain_text("MATCHES LIST")
    expect(page.get_by_role("row").filter(has_text=f"box {box.code}")).to_contain_text("Ticked")
    expect(page.get_by_text(re.compile(r"^1 of \d+ scanned$"))).to_be_visible()

    send(page, element_string(box))
    expect(answer).to_contain_text("ALREADY SCANNED")
    expect(page.get_by_text(re.compile(r"^1 of \d+ scanned$"))).to_be_visible()


def test_a_scan_without_an_answer_says_so_and_the_next_one_counts(
    page: Page, complaints: list[str]
) -> None:
    """The scan reaches the house, and its answer gets lost on the way."""
    print_list(page, "Print and reserve all of it")
    open_scan_page(page)
    first, second = [line.unit for line in printed_lines() if line.unit and not line.unit.serial][
        :2
    ]
    answer = page.get_by_label("Answer")

    def lose(route: Route) -> None:
        route.fetch(max_redirects=0)
        route.fulfill(status=503, body="down")

    for sent_next, word in ((first, "MATCHES LIST"), (second, "MATCHES LIST")):
        page.route("**/scan/*/", lose, times=1)
        send(page, element_string(first))
        expect(page.locator(".answer-room")).to_contain_text("NO ANSWER")
        send(page, element_string(sent_next))
        expect(answer).to_contain_text(word)

    def lose_while_another_waits(route: Route) -> None:
        send(page, element_string(second))
        route.fulfill(status=503, body="down")

    page.route("**/scan/*/", lose_while_another_waits, times=1)
    send(page, element_string(first))
    room = page.locator(".answer-room")
    expect(room).to_contain_text("Scan these 2 again")
    expect(room).to_contain_text(str(first.lot))
    expect(room).to_contain_text(str(second.lot))
    send(page, element_string(second))
    expect(answer).to_contain_text("ALREADY SCANNED")
    expect(room).to_contain_text("Still without an answer")
    send(page, element_string(first))
    expect(answer).to_contain_text("ALREADY SCANNED")
    expect(room).not_to_contain_text("Still without an answer")
    expect(page.get_by_text(re.compile(r"^2 of \d+ scanned$"))).to_be_visible()
    assert [text for text in complaints if "503" in text]
    complaints.clear()


def test_a_tray_and_a_box_are_read_by_the_codes_printed_on_the_list(page: Page) -> None:
    print_list(page, "Print")
    lines = printed_lines()
    tray = next(line.tray for line in lines if line.tray)
    box = next(line.unit for line in lines if line.unit and not line.unit.serial)
    open_scan_page(page)
    address = page.evaluate("location.origin")

    send(page, tray_link(address, tray=tray.code, asset=tray.asset))
    expect(page.get_by_label("Answer")).to_contain_text("MATCHES LIST")
    expect(page.get_by_role("row").filter(has_text=f"tray {tray.code}")).to_contain_text("Ticked")
    send(page, box_link(address, unit=box.code, gtin=box.implant.gtin, lot=box.lot, serial=""))
    expect(page.get_by_role("row").filter(has_text=f"box {box.code}")).to_contain_text("Ticked")


def test_a_wrong_box_is_stopped_with_both_values(page: Page) -> None:
    print_list(page, "Print")
    listed = {line.unit.implant_id for line in printed_lines() if line.unit}
    case = Case.objects.get(ref=COVERED)
    wrong = (
        Unit.objects.filter(
            implant__role="stem",
            hold="",
            serial="",
            expected_at=None,
            expiry__gt=case.start.date(),
        )
        .exclude(implant__in=listed)
        .exclude(lot="")
        .select_related("implant")[0]
    )
    open_scan_page(page)
    send(page, element_string(wrong))
    answer = page.get_by_label("Answer")
    expect(answer).to_contain_text("STOP")
    expect(answer.locator("dt")).to_have_text(["The list asks for", "Scanned"])
    expect(answer.locator("dd").nth(1)).to_contain_text(f"size {wrong.implant.attributes['size']}")
    expect(page.get_by_text(re.compile(r"^0 of \d+ scanned$"))).to_be_visible()


def test_a_box_on_hold_is_stopped_with_the_reason(page: Page) -> None:
    print_list(page, "Print")
    box = next(line.unit for line in printed_lines() if line.unit and not line.unit.serial)
    factories.held(box, "recalled: lot withdrawn")
    open_scan_page(page)
    send(page, element_string(box))
    answer = page.get_by_label("Answer")
    expect(answer).to_contain_text("STOP")
    expect(answer).to_contain_text("recalled: lot withdrawn")
