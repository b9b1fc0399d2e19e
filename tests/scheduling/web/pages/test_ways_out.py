"""The case page says what can still be done, for a case that is not covered, at no query more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person
from scheduling.models import Case, PlanVersion
from scheduling.operations.reservations import reserve_tray
from scheduling.queries import coverage_now
from scheduling.ways_out_now import ways_out_of
from tests.scheduling.web.pages.test_views import more, words_of
from trays.models import Tray

HEADING = "What can still be done"


@pytest.fixture
def manager_reads(manager: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(manager)


def page_of(client: Client, case: Case) -> str:
    return words_of(client.get(reverse("case", args=[case.pk])))


def test_each_way_with_what_then_becomes_of_the_case(manager_reads: Client, case_b: Case) -> None:
    said = page_of(manager_reads, case_b)
    assert (
        "What can still be done "
        "Bring in a loan of ADD by Tue 10 Mar 07:00: ready Tue 10 Mar 15:30. "
        "Then covered; at risk until it is here. "
        "Bring in a loan of STAND by Tue 10 Mar 07:00: ready Tue 10 Mar 15:30. "
        "Then covered; at risk until it is here. "
        "Start this case Tue 10 Mar 19:15. Then covered. "
        "Start this case Wed 11 Mar 08:30. Then covered. "
        "Start this case Tue 10 Mar 17:15. Then at risk. "
        "Each was tried against all booked cases. The verdict changes only when it is done."
    ) in said
    assert "At another case’s cost" not in said


def test_what_costs_another_case_stands_apart_and_says_so(
    manager_reads: Client, manager: Person, case_a: Case, case_b: Case
) -> None:
    """A has reserved the add-on set, and is elective; B is urgent."""
    add_on = Tray.objects.get(site=case_a.site, code="ADD/1")
    reserve_tray(case=case_a, tray=add_on, by=manager, now=case_a.site.now())
    Case.objects.filter(pk=case_b.pk).update(priority="urgent")
    said = page_of(manager_reads, case_b)
    assert (
        "At another case’s cost Release what case A has reserved: ADD/1. "
        "Then covered; case A pays for it: then not covered."
    ) in said


def test_a_covered_case_has_no_such_section(manager_reads: Client, case_a: Case) -> None:
    assert HEADING not in page_of(manager_reads, case_a)


def test_a_case_without_a_plan_waits_for_it(manager_reads: Client, case_a: Case) -> None:
    bare = Case.objects.create(site=case_a.site, ref="BARE", start=case_a.start, minutes=60)
    said = page_of(manager_reads, bare)
    assert "No plan yet Nothing can be checked until it is written." in said
    assert f"{HEADING} Nothing before its plan is written." in said


def test_a_fault_of_the_plan_is_mended_first(manager_reads: Client, case_a: Case) -> None:
    plan = case_a.plans.get()
    PlanVersion.objects.create(
        case=case_a,
        number=plan.number + 1,
        technique=plan.technique,
        components={"stem": {"size": 99}},
        made_at=plan.made_at,
    )
    said = page_of(manager_reads, case_a)
    assert f"{HEADING} Nothing outside the plan: its fault is to be mended first." in said


def test_a_search_that_stopped_says_so(
    manager_reads: Client, case_b: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.coverage.ways_out_search.MOST_TRIES", 2)
    said = page_of(manager_reads, case_b)
    assert "Not everything was tried: the search stopped after 2 tries." in said


def test_costs_no_query_more(
    manager_reads: Client, case_a: Case, case_b: Case, django_assert_num_queries: Any
) -> None:
    for _ in range(2):
        with django_assert_num_queries(28):
            assert HEADING in page_of(manager_reads, case_b)
        more(case_b)
    coverage = coverage_now(case_b.site)
    with django_assert_num_queries(0):
        assert ways_out_of(coverage, "B").free
