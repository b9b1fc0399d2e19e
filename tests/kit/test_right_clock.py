"""A clock that cannot be right stops what rests on dates, and says so."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from deploy.kit import right_clock
from tests import factories

HOURS = timedelta(hours=1)


@pytest.fixture
def clock(monkeypatch) -> Any:
    def goes_wrong_by(by: timedelta) -> None:
        monkeypatch.setattr(right_clock, "server_clock", lambda: timezone.now() + by)

    return goes_wrong_by


@pytest.mark.parametrize("by", [HOURS, -HOURS])
def test_every_page_says_which_clocks_differ(by, clock, coordinator, client_of):
    browser = client_of(coordinator)
    assert browser.get("/cases/").status_code == 200
    clock(by)
    answer = browser.get("/cases/")
    assert answer.status_code == 503
    page = answer.content.decode()
    assert "The database’s clock says" in page.replace("&#x27;", "’")
    assert "<strong>not known</strong>" in page


def test_two_clocks_may_be_minutes_apart(clock, coordinator, client_of):
    clock(timedelta(minutes=4))
    assert client_of(coordinator).get("/cases/").status_code == 200


def test_an_entry_of_later_says_that_now_is_not_now(site, coordinator, client_of, monkeypatch):
    """As where both clocks went back together: only the ledger knows."""
    factories.unit(factories.implant(site), "U1")
    row = type(coordinator).objects.annotate(**right_clock.what_clocks_say()).get()
    row.database_clock -= HOURS
    then = row.database_clock
    monkeypatch.setattr(right_clock, "server_clock", lambda: then)
    with pytest.raises(right_clock.ClockWrong, match="newest entry was recorded at"):
        right_clock.believe_clock(row)


def test_nothing_is_done_over_the_api_either(clock, coordinator, client_of):
    clock(-HOURS)
    answer = client_of(coordinator).get("/api/cases/")
    assert (answer.status_code, answer.json()["code"]) == (503, "clock_wrong")


def test_machines_hear_of_it(clock, site):
    assert Client().get("/health/").status_code == 200
    clock(HOURS)
    assert Client().get("/health/").status_code == 503
