"""Complaints of the browser and of axe-core are heard: else a clean walk would prove nothing."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.steps import found_by_axe

INLINE = """document.body.insertAdjacentHTML('beforeend', '<p style="color: red">red</p>')"""
ELSEWHERE = "fetch('https://elsewhere.example/').catch(() => null)"
MISSING = "fetch('/no-such-page/').then(() => null)"


@pytest.mark.parametrize(
    ("act", "heard"),
    [
        (INLINE, "Content Security Policy"),
        (ELSEWHERE, "Content Security Policy"),
        (MISSING, "404"),
        ("console.error('wrong')", "wrong"),
    ],
)
def test_a_complaint_is_heard(page: Page, complaints: list[str], act: str, heard: str) -> None:
    page.goto("/log-in/")
    with page.expect_console_message(lambda said: heard in said.text):
        page.evaluate(act)
    assert any(heard in complaint for complaint in complaints)
    complaints.clear()


PALE = "document.querySelector('#pale').style.setProperty('color', '#ddd')"


def test_axe_finds_what_keeps_people_out(page: Page) -> None:
    page.goto("/log-in/")
    assert found_by_axe(page) == []
    put = "html => document.querySelector('main').insertAdjacentHTML('beforeend', html)"
    page.evaluate(put, "<button></button><input><p id='pale'>pale</p>")
    page.evaluate(PALE)
    heard = [fault.partition(",")[0] for fault in found_by_axe(page)]
    assert heard == ["button-name (critical)", "color-contrast (serious)", "label (critical)"]
