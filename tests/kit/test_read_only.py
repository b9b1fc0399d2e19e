"""Read only: pages are read, nothing is recorded, and people can come and go."""

from __future__ import annotations

import pytest

from implants.models import UnitMovement
from tests import factories
from tests.factories import PASSWORD


@pytest.fixture
def browser(coordinator, client_of, settings):
    settings.MUSTER_READ_ONLY = True
    return client_of(coordinator)


def test_pages_are_read_and_say_so(browser):
    page = browser.get("/cases/")
    assert page.status_code == 200
    assert "Nothing is recorded at present" in page.content.decode()


def test_a_page_records_nothing(browser, site):
    factories.unit(factories.implant(site), "U1")
    before = UnitMovement.objects.count()
    answer = browser.post("/receive/decide/", {"text": "U1", "request_key": "k"})
    assert answer.status_code == 503
    assert "nothing was recorded" in answer.content.decode()
    assert UnitMovement.objects.count() == before


def test_the_api_records_nothing(browser, site):
    factories.unit(factories.implant(site), "U1")
    answer = browser.post(
        "/api/units/U1/quarantine/",
        {"reason": "dropped", "seq": 1},
        content_type="application/json",
        headers={"Idempotency-Key": "k"},
    )
    assert (answer.status_code, answer.json()["code"]) == (503, "read_only")
    assert not UnitMovement.objects.filter(move__kind="quarantine").exists()


def test_people_log_in_and_lock(browser, coordinator, client):
    coordinator.user.set_password(PASSWORD)
    coordinator.user.save()
    answer = client.post("/log-in/", {"username": "coordinator", "password": PASSWORD})
    assert answer.status_code == 302
    assert browser.post("/lock/").status_code == 302
