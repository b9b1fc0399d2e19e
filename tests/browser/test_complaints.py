"""Complaints of the browser, of axe-core, of the keyboard: were they not heard, a clean walk would
prove nothing.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.steps import found_by_axe, found_by_keyboard

pytestmark = pytest.mark.any_database

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


RING = "<style>:focus-visible { outline: 2px solid }</style>"
NOT_FOR_THE_KEYBOARD = """
<a href="#" tabindex="-1">never</a><a href="#" tabindex="2">first</a>
<button style="outline: none">unseen</button>
<form><input name="a"><input name="b"></form>
<input data-scan-field>
<input onkeydown="if (event.key === 'Tab') event.preventDefault()">
"""


def test_what_the_keyboard_cannot_do_is_found(chromium: Browser) -> None:
    page = chromium.new_page()
    page.set_content("<main>nothing to press</main>")
    assert found_by_keyboard(page) == []
    page.set_content(RING + '<a href="#">one</a><form><input><button>send</button></form>')
    assert found_by_keyboard(page) == []
    page.set_content(RING + NOT_FOR_THE_KEYBOARD)
    heard = [fault.partition(":")[0].partition(" from")[0] for fault in found_by_keyboard(page)]
    page.close()
    assert heard == [
        "the scanner does not type into its field",
        "not reached",
        "out of the order of the page",
        "no visible focus",
        "Enter does nothing",
        "Shift+Tab leads nowhere",
        "Tab leads nowhere",
        "Tab leads nowhere",
    ]
