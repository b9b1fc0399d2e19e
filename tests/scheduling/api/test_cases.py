from __future__ import annotations

from django.urls import reverse

from scheduling.models import Case
from scheduling.operations.cases import cancel_case
from scheduling.operations.reservations import reserve_tray, reserve_unit
from tests import factories
from tests.factories import NOW


def test_a_case_with_its_verdict_plan_and_reservations(hospital, client_of, manager, coordinator):
    stem = hospital.site  # the cast's site
    unit = factories.unit(factories.implant(stem, "H", "head"), "U-H")
    reserve_unit(case=hospital.case, unit=unit, by=coordinator, now=NOW)
    answer = client_of(manager).get(reverse("api_case", args=[hospital.case.pk]))
    assert answer.json() == {
        "id": hospital.case.pk,
        "ref": "C1",
        "theatre": "T1",
        "surgeon": "Surgeon One",
        "start": "2027-03-02T08:30:00Z",
        "minutes": 120,
        "priority": "elective",
        "side": "left",
        "status": "booked",
        "verdict": "covered, no spare",
        "plan": {
            "number": 1,
            "technique": "REVISION-STEM",
            "components": {"stem": {"size": 12}},
            "facts": {"cup": "new"},
            "confirmed": [],
            "made_at": "2027-03-01T07:00:00Z",
        },
        "reserved_units": ["U-H"],
        "reserved_trays": [],
    }


def test_the_list_says_as_of_when_its_verdicts_hold(hospital, client_of, manager):
    page = client_of(manager).get(reverse("api_cases")).json()
    assert (page["as_of"], page["count"]) == ("2027-03-01T07:00:00Z", 2)
    assert [(case["ref"], case["verdict"]) for case in page["results"]] == [
        ("C2", "not covered"),
        ("C1", "covered, no spare"),
    ]


def test_a_surgeon_sees_own_cases_only(hospital, client_of, surgeon):
    page = client_of(surgeon).get(reverse("api_cases")).json()
    assert [case["ref"] for case in page["results"]] == ["C1"]


def test_the_coverage_of_a_case_with_its_reasons(hospital, client_of, surgeon):
    report = client_of(surgeon).get(reverse("api_case_coverage", args=[hospital.case.pk])).json()
    assert (report["case"], report["verdict"]) == ("C1", "covered, no spare")
    assert (report["as_of"], report["needed_by"]) == ("2027-03-01T07:00:00Z", "2027-03-02T07:30")
    assert report["sets"][0]["trays"] == ["BASE/1"]
    assert [(line["need"], line["item"], line["units"]) for line in report["lines"]] == [
        ("planned", "REAM-12", []),
        ("planned", "STEM-12", ["U001"]),
        ("spare", "STEM-12", []),
    ]
    spare = report["lines"][-1]
    assert spare["short"] == 1
    assert all(reason["code"] and reason["say"] for reason in spare["because"])


def test_a_case_that_is_over_has_no_verdict_and_no_coverage(
    hospital, client_of, manager, coordinator
):
    cancel_case(case=hospital.case, by=coordinator, now=NOW)
    browser = client_of(manager)
    case = browser.get(reverse("api_case", args=[hospital.case.pk])).json()
    assert (case["status"], case["verdict"]) == ("cancelled", None)
    answer = browser.get(reverse("api_case_coverage", args=[hospital.case.pk]))
    assert answer.status_code == 404
    assert answer.json()["code"] == "not_found"


def test_filters(hospital, client_of, manager):
    browser = client_of(manager)

    def refs(**filters: str) -> list[str]:
        page = browser.get(reverse("api_cases"), filters).json()
        return [case["ref"] for case in page["results"]]

    assert refs(theatre="T1") == ["C1"]
    assert refs(surgeon="Surgeon Two") == ["C2"]
    assert refs(start_from="2027-03-02T00:00Z") == ["C1"]
    assert refs(start_before="2027-03-02T00:00Z") == ["C2"]
    assert refs(status="ended") == []


def test_a_filter_that_cannot_be_used_is_refused(hospital, client_of, manager):
    browser = client_of(manager)
    answer = browser.get(reverse("api_cases"), {"surgon": "x", "start_from": "soon"})
    assert answer.status_code == 400
    assert answer.json()["code"] == "invalid"
    assert [fault.partition(" (")[0] for fault in answer.json()["faults"]] == [
        "surgon: unknown",
        "start_from: not a moment with its offset, such as 2027-03-02T08:30Z",
    ]


def test_the_list_costs_a_fixed_number_of_queries(
    hospital, client_of, manager, coordinator, django_assert_num_queries
):
    browser = client_of(manager)
    with django_assert_num_queries(29):
        browser.get(reverse("api_cases"))
    technique = hospital.case.plans.get().technique
    for number in range(3, 8):
        case = factories.case(hospital.site, f"C{number}", technique=technique)
        unit = factories.unit(factories.implant(hospital.site, f"I{number}"), f"I{number}/1")
        reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
    reserve_tray(
        case=Case.objects.get(ref="C7"),
        tray=factories.tray(factories.configuration(hospital.site, "ADD"), "ADD/1"),
        by=coordinator,
        now=NOW,
    )
    with django_assert_num_queries(29):
        browser.get(reverse("api_cases"))
