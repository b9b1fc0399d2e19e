"""What is folded on the screen is open on paper, and folded again after it."""

from __future__ import annotations

from io import BytesIO

import pypdfium2
import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import Case
from tests.browser.steps import log_in

pytestmark = pytest.mark.any_database


def printed(page: Page) -> str:
    found = pypdfium2.PdfDocument(BytesIO(page.pdf(format="A4")))
    return " ".join(sheet.get_textpage().get_text_range() for sheet in found)


def test_a_case_is_printed_with_every_reason(page: Page) -> None:
    log_in(page, "surgeon-ash")
    page.goto(reverse("case", args=[Case.objects.get(ref="OG-1010").pk]))
    folded = page.get_by_text("BASE-B/6 is on hold")
    expect(folded).to_be_hidden()
    said = " ".join(printed(page).split())
    assert "BASE-B/6 is on hold" in said
    assert "Boxes of each size of the stem" not in said  # the picture stands there
    expect(folded).to_be_hidden()
