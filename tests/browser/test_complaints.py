"""The browser's complaints are heard: without this, a clean walk would prove nothing."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

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
