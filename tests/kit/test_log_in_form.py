"""Log-in through the page: the throttle, what it says, and what the log keeps."""

from __future__ import annotations

import pytest
from django.test import Client

from deploy.kit.models import SecurityEvent
from deploy.kit.throttle import LOG_IN, take_try
from tests.factories import NOW, PASSWORD

PC, PHONE = "10.0.0.1", "10.0.0.2"


@pytest.fixture
def manager(manager):
    manager.user.set_password(PASSWORD)
    manager.user.save()
    return manager


@pytest.fixture
def at_noon(monkeypatch):
    """The real clock stands at the cast's moment: 07:00 in London."""
    monkeypatch.setattr("deploy.kit.log_in_form.timezone.now", lambda: NOW)


def post(name: str, password: str, address: str = PC):
    browser = Client(REMOTE_ADDR=address)
    return browser.post("/log-in/", {"username": name, "password": password})


def events() -> list[tuple[str, str, str | None, str | None, str | None]]:
    rows = SecurityEvent.objects.order_by("pk")
    return list(rows.values_list("what", "outcome", "who__username", "about__username", "address"))


def test_the_sixth_try_is_refused_even_with_the_right_password(manager, at_noon):
    for _ in range(5):
        assert "do not belong together" in post("manager", "wrong").text
    answer = post("Manager", PASSWORD)
    assert "Too many tries with this name here. Try again at <strong>07:15</strong>." in answer.text
    assert "_auth_user_id" not in answer.client.session
    assert events() == [("log-in", "refused", None, "manager", PC)] * 5 + [
        ("log-in", "throttled", None, "manager", PC)
    ]


def test_another_person_at_the_same_pc_and_the_same_person_elsewhere_get_in(
    manager, coordinator, at_noon
):
    coordinator.user.set_password(PASSWORD)
    coordinator.user.save()
    for _ in range(6):
        post("manager", "wrong")
    assert post("coordinator", PASSWORD).status_code == 302
    assert post("manager", PASSWORD, PHONE).status_code == 302


def test_a_success_forgets_the_tries(manager):
    for _ in range(3):
        for _ in range(4):
            post("manager", "wrong")
        assert post("manager", PASSWORD).status_code == 302


def test_an_unknown_name_is_throttled_alike_and_written_down_nowhere(site, at_noon):
    """People type passwords into the name's field."""
    for _ in range(5):
        assert "do not belong together" in post("my secret word", "wrong").text
    assert "Try again at" in post("my secret word", "wrong").text
    assert {event[2:4] for event in events()} == {(None, None)}
    assert not SecurityEvent.objects.filter(detail__contains="secret").exists()


def test_the_admins_own_log_in_page_is_this_one(manager):
    for _ in range(5):
        take_try(LOG_IN, "manager", PC, now=NOW)
    answer = Client().get("/admin/", follow=True)
    assert answer.redirect_chain == [("/admin/login/?next=/admin/", 302)]
    assert "log_in.html" in [template.name for template in answer.templates]


def test_log_in_and_log_out_are_in_the_log(manager):
    browser = post("manager", PASSWORD).client
    browser.post("/log-out/")
    assert [event[:3] for event in events()] == [
        ("log-in", "done", "manager"),
        ("log-out", "done", "manager"),
    ]


def test_an_administrator_without_a_place_of_work_goes_to_the_admin(administrator):
    user = administrator.user
    administrator.delete()
    user.set_password(PASSWORD)
    user.save()
    assert post("administrator", PASSWORD).headers["Location"] == "/admin/"
