"""A box put in quarantine through the API: once a request, and only as it was last seen."""

from __future__ import annotations

import pytest
from django.urls import reverse

from implants.models import Unit, UnitMovement
from tests import factories


@pytest.fixture
def unit(site) -> Unit:
    return factories.unit(factories.implant(site), "U/1")


@pytest.fixture
def post(client_of, coordinator, unit):
    def post(by=coordinator, key="k1", code="U/1", **body):
        return client_of(by).post(
            reverse("api_unit_quarantine", args=[code]),
            {"reason": "dropped", "seq": 1} | body,
            content_type="application/json",
            headers={"Idempotency-Key": key} if key else {},
        )

    return post


def test_keeps_the_box_from_use_and_the_record(post, unit, coordinator):
    answer = post()
    assert answer.status_code == 201
    assert (answer.json()["state"], answer.json()["seq"]) == ("quarantine", 2)
    kept = UnitMovement.objects.get(unit=unit, seq=2)
    assert (kept.by, kept.reason, kept.request_key) == (coordinator.user, "dropped", "k1")


def test_a_repeat_gets_the_first_answer(post):
    first, again = post(), post()
    assert (first.status_code, first.json()) == (again.status_code, again.json())
    assert UnitMovement.objects.count() == 2


def test_refuses_who_saw_the_box_before_somebody_else_moved_it(post):
    post()
    answer = post(key="k2", reason="wet")
    assert answer.status_code == 409
    assert answer.json() == {
        "code": "seq_stale",
        "say": "U/1 was changed by someone else meanwhile. Look at it again first.",
        "item": "U/1",
    }
    assert UnitMovement.objects.count() == 2


def test_says_all_that_is_missing(post):
    answer = post(reason="", seq=None)
    assert (answer.status_code, answer.json()["faults"]) == (
        400,
        ["seq: This field may not be null.", "reason: This field may not be blank."],
    )


def test_without_a_key_nothing_is_done(post):
    answer = post(key=None)
    assert (answer.status_code, answer.json()["code"]) == (400, "key_missing")
    assert UnitMovement.objects.count() == 1


def test_refuses_the_stranger_as_if_there_were_no_such_box(post, stranger):
    theirs, none = post(by=stranger), post(key="k2", code="U/2")
    assert [theirs.status_code, none.status_code] == [404, 404]
    assert theirs.json() == none.json()


def test_refuses_the_read_only(post, manager):
    assert post(by=manager).status_code == 403
