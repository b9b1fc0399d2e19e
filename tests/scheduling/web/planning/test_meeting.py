"""The morning meeting: another order by buttons, what it does, then one change and one word."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from scheduling.models import Case, CaseStatus, Notice, Theatre
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.planning.test_your_cases import confirm

URL = "/days/2026-03-10/meeting/"


@pytest.fixture
def coordinators(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


def fields(answer: Any) -> dict[str, str]:
    """The hidden fields, as the browser would send them."""
    page = answer.content.decode()
    found = re.findall(r'<input type="hidden" name="((?:order|was)-\d+)" value="([^"]*)"', page)
    return dict(found)


def press(client: Client, answer: Any, act: str) -> Any:
    return client.post(URL, fields(answer) | {"act": act}, follow=True)


def test_shows_the_lists_with_their_slack(coordinators: Client, case_a: Case, case_b: Case) -> None:
    said = words_of(coordinators.get(URL))
    assert "Theatre 1 08:30 to 11:30 · A" in said
    assert "5 h slack 16:30 to 19:30 · B" in said
    assert "Nothing is moved yet" in said


def test_another_order_shows_what_it_does_and_changes_nothing(
    coordinators: Client, surgeon: Person, case_a: Case, case_b: Case, client_of: Any
) -> None:
    confirm(client_of(factories.with_pin(surgeon)), case_a)
    printed = print_pick_list(case=case_a, by=surgeon, now=case_a.site.now())
    answer = press(coordinators, coordinators.get(URL), "up:B")
    said = words_of(answer)
    assert "08:30 to 11:30 · B was 16:30" in said
    assert "16:30 to 19:30 · A was 08:30" in said
    assert "2 cases would start at another time or place." in said
    assert "Not covered → Covered" in said
    assert "Confirmations that lapse A" in said
    assert f"list {printed.pick_list.code} version 1" in said
    case_a.refresh_from_db()
    assert case_a.site.local(case_a.start).hour == 8


def test_applied_as_one_change_and_everybody_told_once(
    coordinators: Client, surgeon: Person, case_a: Case, case_b: Case, client_of: Any
) -> None:
    confirm(client_of(factories.with_pin(surgeon)), case_a)
    answer = press(coordinators, press(coordinators, coordinators.get(URL), "down:A"), "apply")
    assert "2 cases moved as one change. 2 people were told." in words_of(answer)
    case_a.refresh_from_db()
    case_b.refresh_from_db()
    assert (case_a.site.local(case_a.start).hour, case_b.site.local(case_b.start).hour) == (16, 8)
    told = {notice.to.username: notice.text for notice in Notice.objects.all()}
    assert told == {
        "surgeon": "A starts 16:30 in Theatre 1 now; it was 08:30 in Theatre 1. "
        "Its confirmation lapsed.",
        "other-surgeon": "B starts 08:30 in Theatre 1 now; it was 16:30 in Theatre 1.",
    }


def test_to_another_theatre(coordinators: Client, site: Site, case_a: Case, case_b: Case) -> None:
    second = Theatre.objects.create(site=site, code="Theatre 2")
    answer = press(coordinators, coordinators.get(URL), f"to:{second.pk}:B")
    assert "Theatre 2 16:30 to 19:30 · B was 16:30, Theatre 1" in words_of(answer)
    press(coordinators, answer, "apply")
    case_b.refresh_from_db()
    assert case_b.theatre == second


def test_what_has_begun_stays_where_it_is(coordinators: Client, case_a: Case, case_b: Case) -> None:
    Case.objects.filter(pk=case_a.pk).update(status=CaseStatus.STARTED)
    said = words_of(press(coordinators, coordinators.get(URL), "up:B"))
    assert "Nothing is moved yet" in said


def test_a_clash_is_shown_before_anybody_agrees(
    coordinators: Client, case_a: Case, case_b: Case
) -> None:
    Case.objects.filter(pk=case_b.pk).update(start=case_a.start + timedelta(hours=2))
    assert "Clash in Theatre 1: B begins 1 h before A ends." in words_of(coordinators.get(URL))


def test_a_case_that_was_moved_meanwhile_refuses_all_of_it(
    coordinators: Client, case_a: Case, case_b: Case
) -> None:
    answer = press(coordinators, coordinators.get(URL), "up:B")
    Case.objects.filter(pk=case_a.pk).update(start=case_a.start + timedelta(minutes=15))
    assert "Case A was moved meanwhile" in words_of(press(coordinators, answer, "apply"))
    case_b.refresh_from_db()
    assert case_b.site.local(case_b.start).hour == 16


def test_who_may_change_the_lists(
    case_a: Case,
    surgeon: Person,
    sterile_services: Person,
    theatre_team: Person,
    manager: Person,
    client_of: Callable[[Person], Client],
) -> None:
    people = (surgeon, sterile_services, theatre_team, manager)
    assert {client_of(person).get(URL).status_code for person in people} == {403}


def test_costs_the_same_however_many_cases(
    coordinators: Client, site: Site, case_a: Case, case_b: Case, django_assert_num_queries: Any
) -> None:
    for more in range(2):
        sent = fields(coordinators.get(URL)) | {"act": "up:B"}
        with django_assert_num_queries(30):
            coordinators.post(URL, sent)
        Case.objects.create(site=site, ref=f"M{more}", start=case_b.start, minutes=60)


def test_the_day_leads_to_it(coordinators: Client, case_a: Case) -> None:
    page = coordinators.get("/days/2026-03-10/").content.decode()
    assert f'href="{URL}"' in page
