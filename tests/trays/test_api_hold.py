"""A tray put on hold through the API: once a request, and only as it was last seen."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from tests import factories
from trays.models import Tray, TrayMovement


@pytest.fixture
def tray(site) -> Tray:
    return factories.tray(factories.configuration(site))


@pytest.fixture
def post(client_of, coordinator, tray):
    def post(by=coordinator, key="k1", **body):
        return client_of(by).post(
            reverse("api_tray_hold", args=["BASE/1"]),
            {"kind": "hole in the wrap", "note": "a corner", "seq": 1} | body,
            content_type="application/json",
            headers={"Idempotency-Key": key},
        )

    return post


def test_keeps_the_tray_from_use_and_the_record(post, tray, coordinator):
    answer = post()
    assert answer.status_code == 201
    assert (answer.json()["stage"], answer.json()["seq"]) == ("quarantine", 2)
    assert answer.json()["ready_at"] is None
    kept = TrayMovement.objects.get(tray=tray, seq=2)
    assert (kept.by, kept.request_key) == (coordinator.user, "k1")
    assert kept.reason == "hole in the wrap: a corner"
    assert tray.holds.get().kind == "hole in the wrap"


def test_a_repeat_gets_the_first_answer(post):
    assert post().json() == post().json()
    assert TrayMovement.objects.count() == 2


def test_refuses_who_saw_the_tray_before_somebody_else_moved_it(post):
    post()
    answer = post(key="k2", kind="repair")
    assert (answer.status_code, answer.json()["code"]) == (409, "seq_stale")
    assert TrayMovement.objects.count() == 2


def test_a_repair_says_when_it_should_be_back(post, tray):
    assert post(kind="repair", back_on="2027-03-05").json()["stage"] == "repair"
    assert tray.holds.get().back_on == date(2027, 3, 5)


@pytest.mark.parametrize("kind", ["quarantine", "load failed or withdrawn", ""])
def test_a_hold_says_of_the_list_why(post, kind):
    answer = post(kind=kind)
    assert (answer.status_code, answer.json()["code"]) == (400, "invalid")
    assert "kind" in answer.json()["say"]
    assert TrayMovement.objects.count() == 1


def test_refuses_the_stranger_and_the_read_only(post, stranger, manager):
    assert (post(by=stranger).status_code, post(by=manager).status_code) == (404, 403)
