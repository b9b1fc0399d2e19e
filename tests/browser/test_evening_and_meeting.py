"""The surgeon's evening and the morning after: a changed plan, and a changed list."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from deploy.kit.models import Person, Site
from scheduling.confirming import basis_of
from scheduling.models import Case, Notice, PickListVersion
from scheduling.operations.decisions import confirm_case
from scheduling.operations.pick_lists import print_pick_list
from scheduling.queries import coverage_now
from tests.browser.conftest import NewPage
from tests.browser.steps import PHONE, found_by_axe, log_in

pytestmark = pytest.mark.any_database

REF = "OG-1002"
TABS = 60
"""More than the plan form has stops."""


def confirmed(site: Site, ref: str) -> Case:
    """Confirmed by its surgeon, gaps and all."""
    case = Case.objects.select_related("surgeon__user__person").get(ref=ref)
    assert case.surgeon is not None
    assert case.surgeon.user is not None
    coverage = coverage_now(site)
    saw = basis_of(coverage.scenario, coverage.report, ref, 1)
    reasons = dict.fromkeys(saw.gaps, "known")
    by: Person = case.surgeon.user.person
    confirm_case(case=case, saw=saw, reasons=reasons, by=by, now=site.now())
    return case


def tab_to(page: Page, selector: str) -> None:
    """By the Tab key alone, as those do who cannot point."""
    target = page.locator(selector)
    for _ in range(TABS):
        if target.evaluate("found => found === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{selector} is not reached by the Tab key")


def test_standard_to_high_offset_in_the_evening_by_keyboard(
    new_page: NewPage, hospital: Site
) -> None:
    case = confirmed(hospital, REF)
    printed: PickListVersion = print_pick_list(case=case, by=None, now=hospital.now())
    page = new_page(PHONE)
    log_in(page, "surgeon-ash")
    page.goto(reverse("plan", args=[case.pk]))
    form = page.locator("[data-preview-form]")
    what_for = page.get_by_label("What this plan would do")

    tab_to(page, "#part-stem-offset")
    page.keyboard.type("HIGH")
    expect(page.locator("#part-stem")).to_contain_text("stem A, size 12, HIGH offset, 225 mm")
    expect(form).to_have_attribute("data-state", "known")
    expect(page.locator("#part-stem-offset")).to_be_focused()
    shown = what_for.locator(".verdict__word").first.inner_text()
    assert case.plans.count() == 1
    assert found_by_axe(page) == []

    tab_to(page, "button[name=act][value=save]")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Version 2 of the plan is in force.")).to_be_visible()
    expect(page.get_by_label("Verdict")).to_contain_text(shown)
    expect(page.get_by_text("The confirmation lapsed")).to_be_visible()
    assert found_by_axe(page) == []
    expect(page.locator(".standing")).to_contain_text(
        "Plan version 2 is in force; it was version 1."
    )
    page.goto(reverse("pick_list_version", args=[printed.pick_list.code, printed.number]))
    expect(page.get_by_role("main")).to_contain_text("HIGH offset")


def test_an_answer_that_does_not_come_is_never_shown_as_one(
    new_page: NewPage, hospital: Site, complaints: list[str]
) -> None:
    case = Case.objects.get(ref=REF)
    page = new_page(PHONE)
    log_in(page, "surgeon-ash")
    page.goto(reverse("plan", args=[case.pk]))
    page.route("**/plan/preview/", lambda route: route.fulfill(status=503, body="down"))
    page.locator("#part-stem-offset").select_option("high")
    said = page.get_by_label("What this plan would do")
    expect(said.get_by_text("Not known: it could not be worked out.")).to_be_visible()
    expect(said.locator(".plan-answer")).to_be_hidden()
    assert [text for text in complaints if "503" in text]
    complaints.clear()


def test_the_meeting_changes_the_order_of_a_list(page: Page, hospital: Site) -> None:
    confirmed(hospital, REF)
    log_in(page, "coordinator")
    page.get_by_role("link", name="Days").click()
    page.get_by_role("link", name="Change the order of the lists").click()
    page.get_by_role("button", name=f"{REF} earlier").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("2 cases would start at another time or place.")).to_be_visible()
    first = page.locator(".meeting__case").first
    expect(first).to_contain_text(re.compile(rf"08:30 to 12:00 · {REF}"))
    expect(page.get_by_role("heading", name="Confirmations that lapse")).to_be_visible()
    assert Case.objects.get(ref=REF).start.hour == 11
    assert found_by_axe(page) == []

    page.get_by_role("button", name="Change the lists").click()
    expect(page.get_by_text("2 cases moved as one change.")).to_be_visible()
    assert Case.objects.get(ref=REF).start.hour == 8
    assert Notice.objects.get().text.startswith(f"{REF} starts 08:30 in Theatre 1 now")
