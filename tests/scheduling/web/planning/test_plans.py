"""The plan form: what it shows before it is saved, what is saved, and by whom."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from scheduling.models import Case, CaseStatus, Window
from scheduling.operations.windows import keep_window
from tests import factories
from tests.scheduling.web.pages.test_views import words_of

Fields = dict[str, Any]

CHOSEN: Fields = {
    "technique": "REVISION-STEM",
    "replaces": "1",
    "part:stem:system": "A",
    "part:stem:size": "12",
    "part:stem:offset": "standard",
    "part:stem:length": "225",
    "part:head:diameter": "36",
    "part:head:neck_length": "0",
    "fact:approach": "posterior",
    "fact:cup": "new",
    "fact:stem_out": "loose",
}


@pytest.fixture
def surgeons(surgeon: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(surgeon)


def plan_url(case: Case) -> str:
    return reverse("plan", args=[case.pk])


def preview(client: Client, case: Case, **changed: str) -> str:
    answer = client.post(reverse("plan_preview", args=[case.pk]), CHOSEN | changed)
    assert answer.status_code == 200
    return words_of(answer)


def test_shows_the_plan_in_force_and_its_verdict(surgeons: Client, case_a: Case) -> None:
    said = words_of(surgeons.get(plan_url(case_a)))
    assert "stem A, size 12, STANDARD offset, 225 mm" in said
    assert "Covered as now" in said
    assert "Save as version 2" in said
    assert "Not checked here: cement and its mixing; bone graft; disposables." in said


def test_the_verdict_before_saving_and_nothing_is_saved(surgeons: Client, case_a: Case) -> None:
    said = preview(surgeons, case_a, **{"fact:stem_out": "well fixed"})
    assert "Not covered now: covered" in said
    assert "There is no tray of EXTRACT." in said
    assert case_a.plans.count() == 1


def test_an_open_question_arises_while_choosing(surgeons: Client, case_a: Case) -> None:
    said = preview(surgeons, case_a, **{"fact:approach": ""})
    assert "Not known now: covered" in said
    assert "The plan does not state: approach." in said


def test_a_figure_that_is_none_is_not_known_and_not_saved(surgeons: Client, case_a: Case) -> None:
    bad = {"fact:cup": "retained", "fact:liner_inner_diameter": "wide"}
    assert "Not known now: covered" in preview(surgeons, case_a, **bad)
    said = words_of(surgeons.post(plan_url(case_a), CHOSEN | bad | {"act": "save"}))
    assert "liner inner diameter: a number, such as 120 or 12.5, not “wide”" in said.lower()
    assert case_a.plans.count() == 1


def test_what_it_does_to_another_case_is_named(
    surgeons: Client, site: Site, case_a: Case, case_b: Case
) -> None:
    """A and B want the one add-on set; a technique that asks for none leaves it to B."""
    factories.technique(site, "BARE")
    said = preview(surgeons, case_a, technique="BARE", technique_shown="REVISION-STEM")
    assert "1 other case changes" in said
    assert "Other cases B · Tue 10 Mar 16:30 · Theatre 1 Not covered → Covered" in said


def test_saves_the_next_version(surgeons: Client, surgeon: Person, case_a: Case) -> None:
    sent = CHOSEN | {"act": "save", "part:stem:offset": "high", "note": "long day"}
    answer = surgeons.post(plan_url(case_a), sent)
    assert (answer.status_code, answer.headers["Location"]) == (
        302,
        reverse("case", args=[case_a.pk]),
    )
    plan = case_a.plans.get(number=2)
    assert plan.components["stem"] == {
        "system": "A",
        "size": 12,
        "offset": "high",
        "length": 225,
    }
    assert (plan.note, plan.made_by) == ("long day", surgeon.user)


def test_an_older_form_is_refused_and_keeps_what_was_chosen(surgeons: Client, case_a: Case) -> None:
    surgeons.post(plan_url(case_a), CHOSEN | {"act": "save"})
    answer = surgeons.post(plan_url(case_a), CHOSEN | {"act": "save", "part:stem:offset": "high"})
    assert answer.status_code == 409
    said = words_of(answer)
    assert "version 2 is in force now" in said
    assert "stem A, size 12, HIGH offset, 225 mm" in said
    assert case_a.plans.count() == 2


def test_the_surgeon_confirms_with_the_plan_and_a_colleague_does_not(
    surgeons: Client, other_surgeon: Person, case_a: Case, client_of: Callable[[Person], Client]
) -> None:
    sent = CHOSEN | {
        "fact:cup": "retained",
        "fact:liner_inner_diameter": "36",
        "confirm": "retained cup inspected on film",
        "act": "save",
    }
    surgeons.post(plan_url(case_a), sent)
    assert case_a.plans.get(number=2).confirmed.count() == 1
    assert case_a.surgeon is not None
    case_a.surgeon.colleagues.add(other_surgeon.user)
    client_of(other_surgeon).post(plan_url(case_a), sent | {"replaces": "2"})
    third = case_a.plans.get(number=3)
    assert (third.made_by, third.confirmed.count()) == (other_surgeon.user, 0)


def test_who_may_not_plan(
    coordinator: Person,
    manager: Person,
    other_surgeon: Person,
    stranger: Person,
    case_a: Case,
    client_of: Callable[[Person], Client],
) -> None:
    statuses = {
        person.user.username: client_of(person).post(plan_url(case_a), CHOSEN).status_code
        for person in (coordinator, manager, other_surgeon, stranger)
    }
    assert statuses == {"coordinator": 403, "manager": 403, "other-surgeon": 404, "stranger": 403}
    assert case_a.plans.count() == 1


def test_a_case_that_is_over_keeps_its_plan(surgeons: Client, case_a: Case) -> None:
    Case.objects.filter(pk=case_a.pk).update(status=CaseStatus.ENDED)
    assert surgeons.get(plan_url(case_a)).status_code == 302
    assert surgeons.post(reverse("plan_preview", args=[case_a.pk]), CHOSEN).status_code == 409


def test_answers_kept_as_a_window_are_what_the_next_plan_begins_with(
    surgeons: Client, surgeon: Person, case_a: Case
) -> None:
    sent = CHOSEN | {"act": "keep", "window_name": "Usual", "window:stem.size:above": "3"}
    said = words_of(surgeons.post(plan_url(case_a), sent, follow=True))
    assert "Kept as “Usual”, version 1." in said
    assert case_a.plans.count() == 1
    bare = Case.objects.create(
        site=case_a.site, ref="NEW", start=case_a.start, minutes=60, surgeon=case_a.surgeon
    )
    form = surgeons.get(plan_url(bare)).context["form"]
    assert form.planned()["stem"].attributes["size"] == 12
    assert form.changed_windows() == {"stem.size": (1, 3)}
    assert words_of(surgeons.get("/windows/")).count("Stem size: 1 below, 3 above") == 1
    surgeons.post("/windows/", {"window": Window.objects.get().pk})
    assert "You have none." in words_of(surgeons.get("/windows/"))


def test_another_surgeons_window_is_not_theirs_to_retire(
    surgeons: Client, other_surgeon: Person, case_a: Case
) -> None:
    theirs = keep_window(
        surgeon=other_surgeon.user.surgeon,
        technique=case_a.plans.get().technique,
        name="Usual",
        components={},
        facts={},
        windows={},
        by=other_surgeon,
        now=case_a.site.now(),
    )
    assert surgeons.post("/windows/", {"window": theirs.pk}).status_code == 404


def test_versions_in_words_with_who_and_when(
    surgeons: Client, case_a: Case, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    surgeons.post(plan_url(case_a), CHOSEN | {"act": "save", "part:stem:offset": "high"})
    url = reverse("plan_versions", args=[case_a.pk])
    said = words_of(client_of(manager).get(url))
    assert "Version 2, in force Mon 9 Mar 09:00, Surgeon" in said
    assert "Stem: HIGH offset instead of STANDARD offset." in said
    assert "Change the plan" not in said
    assert "Change the plan" in words_of(surgeons.get(url))


def test_costs_the_same_however_many_cases(
    surgeons: Client, case_a: Case, case_b: Case, site: Site, django_assert_num_queries: Any
) -> None:
    for more in range(2):
        with django_assert_num_queries(28):
            surgeons.post(reverse("plan_preview", args=[case_a.pk]), CHOSEN)
        Case.objects.create(site=site, ref=f"M{more}", start=case_b.start, minutes=60)
