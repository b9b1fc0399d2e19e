from __future__ import annotations

import pytest
from django.urls import reverse

from scheduling.models import Scan
from scheduling.operations.pick_lists import print_pick_list
from tests.factories import NOW


@pytest.fixture
def code(hospital) -> str:
    return hospital.printed.pick_list.code


@pytest.fixture
def post(client_of, theatre_team, code):
    """Post a scan with a key, as the theatre team."""

    def post(text="U001", version=1, key="k-1", code=code):
        return client_of(theatre_team).post(
            reverse("api_scans", args=[code]),
            {"text": text, "version": version},
            content_type="application/json",
            headers={} if key is None else {"Idempotency-Key": key},
        )

    return post


def test_the_lists_that_one_may_read(
    hospital, code, client_of, manager, surgeon, other_surgeon, coordinator
):
    theatre = hospital.case.theatre
    day = print_pick_list(theatre=theatre, day=hospital.case.start.date(), by=coordinator, now=NOW)
    of_day = {
        "code": day.pick_list.code,
        "case": None,
        "theatre": "T1",
        "day": "2027-03-02",
        "newest": 1,
    }
    of_case = {"code": code, "case": "C1", "theatre": None, "day": None, "newest": 1}

    def lists(person):
        return client_of(person).get(reverse("api_pick_lists")).json()["results"]

    assert lists(manager) == [of_day, of_case]
    assert lists(surgeon) == [of_case]
    assert lists(other_surgeon) == []


def test_a_version_with_its_lines(code, client_of, manager, post):
    post(text="U001")
    page = client_of(manager).get(reverse("api_pick_list_version", args=[code, 1])).json()
    assert (page["code"], page["number"], page["replaced_by"]) == (code, 1, None)
    assert page["verdicts"] == {"C1": "covered, no spare"}
    assert [
        (line["case"], line["need"], line["tray"], line["unit"], line["ticked"])
        for line in page["lines"]
    ] == [("C1", "planned", "BASE/1", None, False), ("C1", "planned", None, "U001", True)]


def test_a_scan_is_answered_in_the_fixed_words(post):
    right, wrong, again = post(), post("NONE/1", key="k-2"), post(key="k-3")
    assert [one.status_code for one in (right, wrong, again)] == [201, 201, 201]
    assert [one.json()["answer"] for one in (right, wrong, again)] == [
        "MATCHES LIST",
        "STOP",
        "ALREADY SCANNED",
    ]
    assert right.json()["line"] == 2


def test_the_same_request_twice_has_one_effect_and_one_answer(post):
    first, again = post(), post()
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert Scan.objects.count() == 1


def test_a_key_stands_for_one_request_only(post):
    post()
    answer = post(text="BASE/1")
    assert answer.status_code == 422
    assert answer.json() == {
        "code": "key_reused",
        "say": "This Idempotency-Key was used before, for another request.",
    }


@pytest.mark.parametrize(
    ("key", "code"),
    [(None, "key_missing"), ("", "key_invalid"), ("k" * 65, "key_invalid"), ("a b", "key_invalid")],
)
def test_without_a_usable_key_nothing_is_done(hospital, post, key, code):
    answer = post(key=key, code=hospital.printed.pick_list.code)
    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert not Scan.objects.exists()


def test_a_body_that_cannot_be_used_is_refused_with_all_its_faults(post):
    answer = post(text="", version=0)
    assert answer.status_code == 400
    assert answer.json()["faults"] == [
        "text: This field may not be blank.",
        "version: Ensure this value is greater than or equal to 1.",
    ]


def test_a_list_that_is_not_there(post):
    answer = post(code="NONE")
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
