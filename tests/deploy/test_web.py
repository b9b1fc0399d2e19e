"""Log-in, log-out and the pages for when something is wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person
from deploy.kit.sessions import NOTED_EVERY_SECONDS, SEEN
from scheduling.models import Scan
from tests.factories import PASSWORD
from tests.hospital import Hospital

TEMPLATES = Path(__file__).parents[2] / "deploy" / "templates"


def test_logs_in_and_goes_to_the_first_page(manager: Person, client: Client) -> None:
    manager.user.set_password(PASSWORD)
    manager.user.save()
    answer = client.post("/log-in/", {"username": "manager", "password": PASSWORD})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")


def test_a_wrong_password_is_refused_in_words(manager: Person, client: Client) -> None:
    answer = client.post("/log-in/", {"username": "manager", "password": "wrong"})
    assert "do not belong together" in answer.content.decode()
    assert "_auth_user_id" not in client.session


def test_logs_out_by_post_only(manager: Person, client_of: Callable[[Person], Client]) -> None:
    browser = client_of(manager)
    assert browser.get("/log-out/").status_code == 405
    assert "_auth_user_id" in browser.session
    assert browser.post("/log-out/").headers["Location"] == "/log-in/"
    assert "_auth_user_id" not in browser.session


@pytest.mark.parametrize(("demo", "shown"), [(True, True), (False, False)])
def test_names_accounts_in_the_demonstration_only(
    demo: bool, shown: bool, manager: Person, client: Client, settings: LazySettings
) -> None:
    settings.DEMO = demo
    page = client.get("/log-in/").content.decode()
    assert ("Demonstration only" in page) is shown
    assert (">manager<" in page) is shown


def test_nothing_here_is_a_page_of_its_own(
    manager: Person, client_of: Callable[[Person], Client]
) -> None:
    answer = client_of(manager).get("/no-such-page/")
    assert answer.status_code == 404
    assert "Nothing here" in answer.content.decode()


def test_not_yours_to_open_says_so(
    sterile_services: Person, client_of: Callable[[Person], Client]
) -> None:
    answer = client_of(sterile_services).get("/your-cases/")
    assert answer.status_code == 403
    assert "Your role does not open this page." in answer.content.decode()


def test_the_failure_page_needs_nothing_and_gives_no_verdict() -> None:
    page = render_to_string("500.html")
    assert "treat every case as <strong>not known</strong>" in page
    assert "nothing was changed" not in page.lower()


@pytest.fixture
def unkept(
    coordinator: Person, client_of: Callable[[Person], Client], monkeypatch: pytest.MonkeyPatch
) -> Client:
    """A browser whose session is due to be written down, and cannot be."""

    def fails(*_: object, **__: object) -> None:
        raise UpdateError

    browser = client_of(coordinator)
    session = browser.session
    session[SEEN] -= NOTED_EVERY_SECONDS
    session.save()
    monkeypatch.setattr(SessionStore, "save", fails)
    return browser


def test_what_was_done_is_not_called_nothing_when_the_session_is_lost(
    unkept: Client, hospital: Hospital, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = reverse("scan_list", args=[hospital.printed.pick_list.code])
    form = {"text": "U001", "version": 1, "request_key": "k"}
    lost = unkept.post(url, form)
    assert lost.status_code == 503
    assert "it may be on record <strong>or not</strong>" in lost.text
    monkeypatch.undo()
    assert unkept.post(url, form).status_code == 302
    assert Scan.objects.count() == 1


def test_a_machine_is_told_so_too(
    unkept: Client, hospital: Hospital, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = reverse("api_unit_quarantine", args=["U001"])
    sent = {"data": {"reason": "dropped", "seq": 1}, "content_type": "application/json"}
    lost = unkept.post(url, headers={"Idempotency-Key": "k"}, **sent)
    assert (lost.status_code, lost.json()["code"]) == (503, "interrupted")
    monkeypatch.undo()
    assert unkept.post(url, headers={"Idempotency-Key": "k"}, **sent).status_code == 201


def test_a_request_that_makes_no_sense_is_not_understood(client: Client) -> None:
    answer = client.get("/log-in/", headers={"host": "elsewhere.example"})
    assert answer.status_code == 400
    assert "Not understood" in answer.text


@pytest.mark.parametrize(
    "template", [pytest.param(path, id=path.name) for path in sorted(TEMPLATES.rglob("*.html"))]
)
def test_no_template_holds_a_script_or_style_of_its_own(template: Path) -> None:
    text = template.read_text()
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick=" not in text
    assert all("src=" in tag for tag in text.split("<script")[1:])


def test_an_address_of_the_api_that_is_none_is_told_as_the_api_tells(client: Client) -> None:
    answer = client.get("/api/nothing/")
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
    assert "text/html" in client.get("/nothing/")["Content-Type"]
