"""A whole operation by scan: one wrong liner stopped, one box dropped, one returned."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from deploy.kit.models import Person, Site
from implants.models import Unit
from implants.states import UnitState
from scheduling.models import Case, Opening, PickListVersion, SizeUsed
from scheduling.operations.pick_lists import print_and_reserve
from tests.browser.steps import DESK, PHONE, found_by_axe, log_in
from trays.models import Tray
from trays.stages import Stage

REF = "OG-1001"
ANSWER = "Answer"


def printed(site: Site) -> PickListVersion:
    coordinator = Person.objects.get(user__username="coordinator")
    case = Case.objects.get(ref=REF)
    return print_and_reserve(case=case, by=coordinator, now=site.now())


def label(unit: Unit) -> str:
    """As a scanner sends it: GTIN, use by, LOT; the serial behind a separator."""
    assert unit.expiry is not None
    serial = f"\x1d21{unit.serial}" if unit.serial else ""
    return f"]d201{unit.implant.gtin}17{unit.expiry:%y%m%d}10{unit.lot}{serial}"


def scan(page: Page, text: str) -> None:
    """Into whatever has the focus, as a scanner does: the separator comes as a key of its own."""
    field = page.locator("[data-scan-field]")
    expect(field).to_be_focused()
    field.fill(text)
    page.keyboard.press("Enter")


def act(page: Page, name: str) -> None:
    page.get_by_text(name, exact=True).first.click()


def test_a_whole_operation_by_scan(page: Page, hospital: Site) -> None:
    version = printed(hospital)
    lines = version.lines.select_related("unit__implant", "tray")
    boxes = {
        line.unit.implant.role: line.unit for line in lines if line.need == "planned" and line.unit
    }
    spare = next(line.unit for line in lines if line.unit and line.need != "planned")
    trays = [line.tray for line in lines if line.tray]
    wrong = Unit.objects.select_related("implant").filter(
        implant__ref="SLD32", state="on the shelf"
    )[0]
    answer = page.get_by_label(ANSWER)

    log_in(page, "theatre")
    page.get_by_role("link", name="In theatre").click()
    scan(page, version.pick_list.code)
    page.get_by_role("button", name="Start the case").click()
    expect(page.get_by_text(f"Case {REF} has started.")).to_be_visible()

    for tray in trays:
        scan(page, tray.code)
        expect(answer).to_contain_text(f"tray {tray.code}")
        expect(answer).to_contain_text("MATCHES LIST")
    for role in ("shell", "head"):
        scan(page, label(boxes[role]))
        expect(answer).to_contain_text(boxes[role].implant.in_words())
        expect(answer).to_contain_text("MATCHES LIST")
        page.get_by_role("button", name="It is opened").click()
        expect(page.get_by_text(f"Box {boxes[role].code} is recorded as opened.")).to_be_visible()

    # The wrong liner: both values, and no way to open it but with a reason.
    scan(page, label(wrong))
    expect(answer).to_contain_text("STOP")
    expect(answer).to_contain_text("Head and liner differ")
    expect(answer.locator("dd").nth(0)).to_contain_text("diameter 36 mm")
    expect(answer.locator("dd").nth(1)).to_contain_text("inner diameter 32 mm")
    expect(page.get_by_role("button", name="It is opened")).to_have_count(0)
    assert found_by_axe(page) == []
    # What was said of the box before does not stand over this answer.
    expect(page.locator(".messages")).to_have_count(0)
    # On a phone the answer comes into view by itself.
    page.set_viewport_size(PHONE)
    scan(page, label(wrong))
    expect(answer.locator(".answer__word")).to_be_in_viewport()
    page.set_viewport_size(DESK)

    # The right one, and the stem: opened and implanted, by the label that was peeled from the box.
    for role in ("liner", "stem"):
        scan(page, label(boxes[role]))
        expect(answer).to_contain_text(boxes[role].implant.in_words())
        expect(answer).to_contain_text("MATCHES LIST")
        page.get_by_role("button", name="It is opened").click()
        expect(page.get_by_text(f"Box {boxes[role].code} is recorded as opened.")).to_be_visible()
    act(page, "Implanted")
    for role in ("shell", "liner", "stem"):
        scan(page, label(boxes[role]))
        expect(answer).to_contain_text("Recorded as implanted")
        expect(answer).to_contain_text(boxes[role].implant.in_words())

    # The head is dropped.
    act(page, "Wasted")
    page.get_by_label("Why wasted").select_option("dropped")
    page.locator("[data-scan-field]").focus()
    scan(page, label(boxes["head"]))
    expect(answer).to_contain_text("Recorded as wasted")

    # A contingency was fetched, and goes back unopened.
    act(page, "Check before opening")
    scan(page, label(spare))
    expect(answer).to_contain_text(spare.implant.in_words())
    expect(answer).to_contain_text("MATCHES LIST")
    act(page, "Back unopened")
    scan(page, label(spare))
    expect(answer).to_contain_text("Recorded as returned unopened")

    page.get_by_role("button", name="End the case").click()
    expect(page.get_by_text(f"Case {REF} has ended.")).to_be_visible()
    assert found_by_axe(page) == []
    page.get_by_role("link", name="the record").click()
    expect(page.get_by_role("row").filter(has_text=f"box {boxes['stem'].code}")).to_contain_text(
        "LOT"
    )

    states = dict(Unit.objects.exclude(case_ref="").values_list("code", "state"))
    assert {code: states[code] for code in (boxes[role].code for role in boxes)} == {
        boxes["shell"].code: UnitState.IMPLANTED,
        boxes["liner"].code: UnitState.IMPLANTED,
        boxes["stem"].code: UnitState.IMPLANTED,
        boxes["head"].code: UnitState.WASTED,
    }
    for unit in (wrong, spare):
        unit.refresh_from_db()
        assert (unit.state, unit.case_ref) == (UnitState.ON_THE_SHELF, "")
    assert set(Tray.objects.filter(case_ref=REF).values_list("stage", flat=True)) == {
        Stage.IN_THEATRE
    }
    assert Opening.objects.filter(case__ref=REF).count() == 4
    assert SizeUsed.objects.filter(case__ref=REF).count() == 3
