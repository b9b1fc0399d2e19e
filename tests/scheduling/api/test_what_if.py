from __future__ import annotations

import json

import pytest
from django.urls import reverse

from implants.models import Unit
from scheduling.api.what_if import LARGEST


@pytest.fixture
def ask(client_of, surgeon):
    def ask(body):
        return client_of(surgeon).post(
            reverse("api_what_if"), body, content_type="application/json"
        )

    return ask


def test_decides_what_is_posted_and_keeps_nothing(hospital, ask):
    scenario = json.loads(hospital.scenario())
    scenario["shelf"].append(scenario["shelf"][0] | {"unit": "ONE-MORE"})
    answer = ask(json.dumps(scenario))
    assert answer.status_code == 200
    assert answer.json()["now"] == "2027-03-01T07:00"
    verdicts = {case["case"]: case["verdict"] for case in answer.json()["cases"]}
    assert verdicts == {"C1": "covered", "C2": "not covered"}
    assert Unit.objects.count() == 1


def test_a_scenario_with_faults_is_refused_with_all_of_them(hospital, ask):
    scenario = json.loads(hospital.scenario())
    scenario["cases"][0]["start"] = "8.30"
    scenario["shelf"][0]["implant"] = "NONE"
    answer = ask(json.dumps(scenario))
    assert answer.status_code == 400
    assert answer.json()["code"] == "scenario_invalid"
    assert [fault.partition(": ")[0] for fault in answer.json()["faults"]] == [
        "shelf[0].implant",
        "cases[0].start",
    ]
    assert answer.json()["say"].startswith("The scenario cannot be used: shelf[0].implant: ")


@pytest.mark.parametrize(
    ("body", "status"),
    [(b"", 400), (b"{", 400), (b"\xff", 400), (b"[1]", 400), (b" " * (LARGEST + 1), 413)],
)
def test_what_is_no_scenario_is_refused(hospital, ask, body, status):
    answer = ask(body)
    assert answer.status_code == status
    assert {"code", "say"} <= answer.json().keys()
