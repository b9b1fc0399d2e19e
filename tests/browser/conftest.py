"""The demonstration hospital behind a live server, and a browser that forgives nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.core.management import call_command
from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from deploy.kit.models import Site
from deploy.scripts.browser import ARGUMENTS, find_chromium
from tests.browser.steps import DESK

ROOT = Path(__file__).resolve().parent.parent.parent

NewPage = Callable[[ViewportSize], Page]


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser a file.  A missing one is an error, as everything that a test needs and lacks."""
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright's loop runs in this thread, where the tests use the ORM; ended with the file.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=list(ARGUMENTS))
        yield browser
        browser.close()


@pytest.fixture
def hospital(transactional_db: None, live_server: LiveServer, settings: Settings) -> Site:
    """Ottermere General as `deploy/demo` sets it up, standing still at its first moment."""
    settings.DEMO = True
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = False  # plain HTTP, as there
    call_command("load_scenario", str(ROOT / "fixtures" / "demonstration.json"), verbosity=0)
    site = Site.objects.get()
    site.address = live_server.url
    site.save()
    call_command("make_demo_people", verbosity=0)
    call_command("make_demo_declarations", verbosity=0)
    call_command("make_demo_department", verbosity=0)
    return site


@pytest.fixture
def complaints() -> list[str]:
    """What the browser complained of: script errors, what the content policy refused, answers
    that are errors."""
    return []


@pytest.fixture
def new_page(
    chromium: Browser, hospital: Site, live_server: LiveServer, complaints: list[str]
) -> Iterator[NewPage]:
    """Open a page of a browser of its own, of the size given.  A complaint fails the test."""
    contexts = []

    def open_page(size: ViewportSize) -> Page:
        context = chromium.new_context(base_url=live_server.url, viewport=size)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on(
            "console",
            lambda said: (
                complaints.append(f"{page.url}: {said.text}")
                if said.type in ("error", "warning")
                else None
            ),
        )
        page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
        # Aborted: the page was left before all of it had come, as people in a hurry do.
        page.on(
            "requestfailed",
            lambda request: (
                complaints.append(f"{page.url}: {request.url}: {request.failure}")
                if request.failure != "net::ERR_ABORTED"
                else None
            ),
        )
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not complaints, "\n" + "\n".join(complaints)


@pytest.fixture
def page(new_page: NewPage) -> Page:
    return new_page(DESK)
