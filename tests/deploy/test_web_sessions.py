"""Lock, unlock and switch through the pages, and what a session that only looks can do."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from deploy.kit.credentials import set_badge, set_pin
from deploy.kit.models import Person, SecurityEvent
from tests.factories import PASSWORD

JSON = {"Accept": "application/json"}
SHELF = "/locked/?next=/shelf/"


@pytest.fixture
def coordinator(coordinator: Person) -> Person:
    """With a password, a PIN and a badge."""
    coordinator.user.set_password(PASSWORD)
    coordinator.user.save()
    set_pin(person=coordinator, pin="4071", by=coordinator.user)
    set_badge(person=coordinator, badge="badge-1", by=coordinator.user)
    return coordinator


@pytest.fixture
def browser(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


@pytest.fixture
def looking(coordinator: Person) -> Client:
    """A badge was scanned, and no PIN given."""
    browser = Client()
    assert browser.post("/switch/", {"badge": "badge-1"}).status_code == 302
    return browser


def older(browser: Client, *, began: float = 0, seen: float = 0) -> None:
    """Let seconds pass, as the session sees it."""
    session = browser.session
    session["began"] -= began
    session["seen"] -= seen
    session.save()


def log() -> list[tuple[str, str]]:
    rows = SecurityEvent.objects.exclude(what__in=("PIN", "badge")).order_by("pk")
    return list(rows.values_list("what", "outcome"))


# -- the lock ---------------------------------------------------------------------------------


def test_an_idle_session_is_locked_for_pages_api_and_admin(browser: Client) -> None:
    older(browser, seen=600)
    assert browser.get("/shelf/").headers["Location"] == SHELF
    assert browser.post("/scan/", {"text": "x"}).headers["Location"] == "/locked/?next=/scan/"
    assert browser.get("/admin/").headers["Location"] == "/locked/?next=/admin/"
    answer = browser.get("/api/units/")
    assert (answer.status_code, answer.json()["code"]) == (401, "locked")
    assert log() == [("lock", "done")]


def test_a_script_learns_of_a_lock_without_a_page(browser: Client) -> None:
    assert browser.post("/here/", headers=JSON).status_code == 204
    assert browser.post("/lock/", headers=JSON).status_code == 204
    assert browser.post("/here/", headers=JSON).json()["code"] == "locked"


def test_a_session_at_work_is_not(browser: Client) -> None:
    older(browser, seen=599)
    assert browser.get("/shelf/").status_code == 200
    older(browser, seen=599)
    assert browser.post("/here/").status_code == 204
    older(browser, seen=599)
    assert browser.get("/shelf/").status_code == 200


@pytest.mark.parametrize("secret", ["4071", PASSWORD])
def test_pin_or_password_opens_it_and_leads_back(browser: Client, secret: str) -> None:
    assert browser.post("/lock/?next=/shelf/").headers["Location"] == SHELF
    before = browser.session.session_key
    answer = browser.post("/locked/", {"secret": secret, "next": "/shelf/"})
    assert answer.headers["Location"] == "/shelf/"
    assert browser.session.session_key != before
    assert browser.get("/shelf/").status_code == 200
    assert log() == [("lock", "done"), ("unlock", "done")]


def test_a_badge_scanned_at_the_lock_is_no_try_of_a_pin(
    browser: Client, theatre_team: Person
) -> None:
    set_badge(person=theatre_team, badge="badge-2", by=theatre_team.user)
    browser.post("/lock/")
    for _ in range(6):
        own = browser.post("/locked/", {"secret": "badge-1"}).text
        other = browser.post("/locked/", {"secret": "badge-2"}).text
    assert "That is your badge. Give your PIN or password." in own
    assert f"That is the badge of {theatre_team}. Press “Another person”" in other
    assert browser.get("/shelf/").headers["Location"] == SHELF
    assert browser.post("/locked/", {"secret": "4071"}).status_code == 302


def test_a_wrong_one_leaves_it_locked_and_five_shut_the_right_one_out(browser: Client) -> None:
    browser.post("/lock/")
    for _ in range(5):
        assert "not your PIN or password" in browser.post("/locked/", {"secret": "0815"}).text
    assert "Too many tries. Try again at" in browser.post("/locked/", {"secret": "4071"}).text
    assert browser.get("/shelf/").headers["Location"] == SHELF
    assert log()[1:] == [("unlock", "refused")] * 5 + [("unlock", "throttled")]


def test_a_script_is_told_in_json(browser: Client) -> None:
    browser.post("/lock/")
    wrong = browser.post("/locked/", {"secret": "0815"}, headers=JSON).json()
    assert wrong == {"open": False, "say": "That is not your PIN or password."}
    right = browser.post("/locked/", {"secret": "4071"}, headers=JSON).json()
    assert right == {"open": True, "say": ""}


def test_a_form_that_waited_behind_the_lock_can_still_be_sent(coordinator: Person) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(coordinator.user)
    browser.get("/scan/")
    token = browser.cookies["csrftoken"].value
    sent = {"csrfmiddlewaretoken": token}
    browser.post("/lock/", sent)
    browser.post("/locked/", sent | {"secret": "4071"})
    assert browser.post("/scan/", sent | {"text": ""}).status_code == 302


def test_after_twelve_hours_it_is_over_however_busy(browser: Client) -> None:
    older(browser, began=12 * 3600)
    answer = browser.get("/api/units/")
    assert (answer.status_code, answer.json()["code"]) == (401, "over")
    assert browser.get("/shelf/").headers["Location"] == "/log-in/?next=/shelf/"


def test_unlocking_does_not_lengthen_the_twelve_hours(browser: Client) -> None:
    older(browser, began=12 * 3600 - 10)
    browser.post("/lock/")
    browser.post("/locked/", {"secret": "4071"})
    older(browser, began=10)
    assert browser.get("/shelf/").headers["Location"] == "/log-in/?next=/shelf/"


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example/", ""])
def test_the_way_back_stays_in_the_house(browser: Client, elsewhere: str) -> None:
    browser.post("/lock/")
    answer = browser.post("/locked/", {"secret": "4071", "next": elsewhere})
    assert answer.headers["Location"] == "/"


# -- another person ---------------------------------------------------------------------------


def test_badge_and_pin_begin_a_new_session_that_acts(
    coordinator: Person, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    browser = client_of(manager)
    before = browser.session.session_key
    session = browser.session
    session["left"] = "behind"
    session.save()
    answer = browser.post("/switch/", {"badge": "badge-1", "pin": "4071", "next": "/shelf/"})
    assert answer.headers["Location"] == "/shelf/"
    assert browser.session["_auth_user_id"] == str(coordinator.user.pk)
    assert browser.session.session_key != before
    assert "left" not in browser.session
    assert browser.get("/scan/").status_code == 200
    event = SecurityEvent.objects.get(what="switch")
    assert (event.who, event.about) == (coordinator.user, manager.user)


def test_a_locked_session_can_be_left_to_another_person(
    coordinator: Person, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    browser = client_of(manager)
    browser.post("/lock/")
    assert browser.get("/switch/").status_code == 200
    assert browser.get("/log-in/").status_code == 200
    browser.post("/log-in/", {"username": "coordinator", "password": PASSWORD})
    assert browser.session["_auth_user_id"] == str(coordinator.user.pk)
    assert browser.get("/shelf/").status_code == 200


@pytest.mark.parametrize(
    ("badge", "pin", "said"),
    [
        ("badge-2", "4071", "This badge is not known here."),
        ("badge-2", "", "This badge is not known here."),
        ("badge-1", "0815", "That is not the PIN of this badge."),
        ("", "4071", "Scan your badge."),
    ],
)
def test_who_is_not_let_in(
    coordinator: Person, client: Client, badge: str, pin: str, said: str
) -> None:
    assert said in client.post("/switch/", {"badge": badge, "pin": pin}).text
    assert "_auth_user_id" not in client.session


def test_unknown_badges_are_throttled_and_known_ones_still_work(
    coordinator: Person, client: Client
) -> None:
    for number in range(60):
        client.post("/switch/", {"badge": f"unknown-{number}"})
    assert "Too many tries" in client.post("/switch/", {"badge": "unknown"}).text
    assert client.post("/switch/", {"badge": "badge-1"}).status_code == 302


# -- a badge identifies, it does not authorise -------------------------------------------------


def test_a_badge_alone_may_look(looking: Client) -> None:
    page = looking.get("/shelf/")
    assert page.status_code == 200
    assert "looking only" in page.text
    assert looking.get("/api/units/").status_code == 200


def test_a_badge_alone_may_not_act(looking: Client) -> None:
    assert looking.get("/scan/").headers["Location"] == "/locked/?next=/scan/"
    assert looking.get("/admin/").headers["Location"] == "/locked/?next=/admin/"
    answer = looking.post("/api/what-if/", "{}", content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (403, "needs_pin")


def test_the_pin_afterwards_lets_it_act(looking: Client) -> None:
    assert "To act, give your PIN" in looking.get("/locked/?next=/scan/").text
    answer = looking.post("/locked/", {"secret": "4071", "next": "/scan/"})
    assert answer.headers["Location"] == "/scan/"
    page = looking.get("/scan/")
    assert page.status_code == 200
    assert "looking only" not in page.text


def test_a_lock_and_a_wrong_pin_do_not_let_it_act(looking: Client) -> None:
    looking.post("/lock/")
    looking.post("/locked/", {"secret": "0815"})
    assert looking.get("/shelf/").headers["Location"] == SHELF


# -- the PIN ----------------------------------------------------------------------------------


def test_a_person_sets_a_new_pin_with_the_old_one(browser: Client) -> None:
    form = {"now": "4071", "new": "5180", "again": "5180"}
    assert "not your PIN or password" in browser.post("/your-pin/", form | {"now": "1"}).text
    assert "4 to 12 digits" in browser.post("/your-pin/", form | {"new": "5", "again": "5"}).text
    assert "not the same" in browser.post("/your-pin/", form | {"again": "5181"}).text
    assert browser.post("/your-pin/", form).status_code == 302
    browser.post("/lock/")
    assert browser.post("/locked/", {"secret": "4071"}).status_code == 200
    assert browser.post("/locked/", {"secret": "5180"}).status_code == 302


# -- the log ----------------------------------------------------------------------------------


def test_a_refused_page_is_in_the_log_and_a_strangers_is_not(
    manager: Person, client: Client, client_of: Callable[[Person], Client]
) -> None:
    client.get("/api/units/")
    client_of(manager).get("/scan/?text=secret")
    (event,) = SecurityEvent.objects.all()
    assert (event.what, event.outcome, event.who) == ("enter", "refused", manager.user)
    assert event.detail == "GET /scan/"
