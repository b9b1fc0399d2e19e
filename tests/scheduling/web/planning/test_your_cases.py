"""A surgeon's evening: the list, the decision, the calendar, what else is in the house."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import icalendar
import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, SecurityEvent, Site
from scheduling.models import Case, CaseDecision, Notice, Surgeon
from scheduling.operations.cases import move_case
from scheduling.operations.decisions import lapses_now
from tests import factories
from tests.factories import PIN
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.planning.test_plans import CHOSEN


@pytest.fixture
def surgeons(surgeon: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(factories.with_pin(surgeon))


@pytest.fixture
def coordinators(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


def page_of(client: Client, name: str, *args: Any) -> str:
    return words_of(client.get(reverse(name, args=args)))


def sealed(client: Client, case: Case) -> str:
    return str(client.get(reverse("decide", args=[case.pk])).context["saw"])


def confirm(client: Client, case: Case, **sent: str) -> Any:
    sent = {"saw": sealed(client, case), "act": "confirm", "signed_with": PIN} | sent
    return client.post(reverse("decide", args=[case.pk]), sent, follow=True)


def test_fourteen_days_one_line_each(surgeons: Client, case_a: Case, site: Site) -> None:
    Case.objects.create(
        site=site,
        ref="LATER",
        start=case_a.start + timedelta(days=20),
        minutes=60,
        surgeon=case_a.surgeon,
    )
    said = page_of(surgeons, "your_cases")
    assert "08:30 Theatre 1 A Covered LEFT · REVISION-STEM" in said
    assert "LATER" not in said
    assert "1 more, later than fourteen days" in said
    assert "LATER" in words_of(surgeons.get("/your-cases/?all"))


def test_who_is_on_it_and_what_changed_since_the_last_look(
    surgeons: Client, coordinators: Client, case_a: Case
) -> None:
    page_of(surgeons, "case", case_a.pk)
    assert "changed since you looked" not in page_of(surgeons, "your_cases")
    coordinators.post(reverse("on_it", args=[case_a.pk]), {"act": "take on"})
    Case.objects.filter(pk=case_a.pk).update(start=case_a.start + timedelta(hours=1))
    said = page_of(surgeons, "your_cases")
    assert "changed since you looked" in said
    assert "On it: Coordinator" in said
    page_of(surgeons, "case", case_a.pk)
    assert "changed since you looked" not in page_of(surgeons, "your_cases")
    coordinators.post(reverse("on_it", args=[case_a.pk]), {"act": "hand back"})
    assert "On it" not in page_of(surgeons, "your_cases")


def test_a_case_says_whose_it_is_where_it_is_a_colleagues(
    surgeons: Client, surgeon: Person, case_a: Case, site: Site
) -> None:
    assert case_a.surgeon is not None
    assert surgeon.user.get_full_name() != case_a.surgeon.name
    assert "for " + case_a.surgeon.name not in page_of(surgeons, "your_cases")
    colleague = Surgeon.objects.create(site=site, name="Surgeon Elm")
    colleague.colleagues.add(surgeon.user)
    Case.objects.filter(pk=case_a.pk).update(surgeon=colleague)
    assert "for Surgeon Elm" in page_of(surgeons, "your_cases")


def test_nobody_has_to_be_on_a_case_that_lacks_nothing(
    coordinators: Client, case_a: Case, case_b: Case
) -> None:
    assert "on it." not in page_of(coordinators, "case", case_a.pk)
    assert "Nobody is on it." in page_of(coordinators, "case", case_b.pk)


def test_the_list_costs_the_same_however_many_cases(
    surgeons: Client, case_a: Case, site: Site, django_assert_num_queries: Any
) -> None:
    for more in range(2):
        with django_assert_num_queries(29):
            surgeons.get("/your-cases/")
        Case.objects.create(
            site=site, ref=f"M{more}", start=case_a.start, minutes=60, surgeon=case_a.surgeon
        )


def test_confirms_as_it_stands_and_a_new_plan_lets_it_lapse(surgeons: Client, case_a: Case) -> None:
    assert "A is confirmed as it stands." in words_of(confirm(surgeons, case_a))
    assert "Confirmed Surgeon, Mon 9 Mar 09:00" in page_of(surgeons, "case", case_a.pk)
    sent = CHOSEN | {"act": "save", "part:stem:offset": "high"}
    saved = surgeons.post(reverse("plan", args=[case_a.pk]), sent, follow=True)
    assert "in force. The confirmation has lapsed with it." in words_of(saved)
    because = "Plan version 2 is in force; it was version 1."
    assert f"The confirmation lapsed Surgeon, Mon 9 Mar 09:00 {because}" in page_of(
        surgeons, "case", case_a.pk
    )
    # Nobody has to tell them of their own change.
    assert not Notice.objects.exists()


def test_what_a_person_was_told_they_take_off_their_list(
    surgeons: Client, case_a: Case, coordinator: Person
) -> None:
    confirm(surgeons, case_a)
    start = case_a.start + timedelta(hours=1)
    move_case(case=case_a, start=start, by=coordinator, now=case_a.site.now())
    lapses_now(site=case_a.site, changed=case_a, by=coordinator)
    assert "The confirmation of A lapsed. It starts" in page_of(surgeons, "your_cases")
    surgeons.post("/notices/seen/", {"notice": Notice.objects.get().pk, "back": "your_cases"})
    assert "The confirmation of A lapsed." not in page_of(surgeons, "your_cases")


def test_every_gap_wants_a_reason(
    other_surgeon: Person, case_a: Case, case_b: Case, client_of: Callable[[Person], Client]
) -> None:
    client = client_of(factories.with_pin(other_surgeon))
    answer = confirm(client, case_b, **{"reason-1": " "})
    assert answer.status_code == 400
    assert "no reason for “No set for femoral preparation." in words_of(answer)
    gaps = answer.context["gaps"]
    reasons = {f"reason-{number}": "accepted" for number, _, _ in gaps}
    assert "B is confirmed as it stands." in words_of(confirm(client, case_b, **reasons))
    assert len(CaseDecision.objects.get().accepted) == len(gaps)


def test_postpones_with_a_reason(surgeons: Client, case_a: Case) -> None:
    sent = {"act": "postpone", "postponed_because": "wait for the scan"}
    assert "A is postponed." in words_of(confirm(surgeons, case_a, **sent))
    assert "Postponed by the surgeon Surgeon, Mon 9 Mar 09:00 : wait for the scan" in page_of(
        surgeons, "case", case_a.pk
    )


@pytest.mark.parametrize("act", ["confirm", "postpone"])
def test_a_decision_is_signed(surgeons: Client, case_a: Case, act: str) -> None:
    sent = {"act": act, "postponed_because": "wait for the scan", "signed_with": "guessed"}
    answer = confirm(surgeons, case_a, **sent)
    assert answer.status_code == 403
    assert "Not signed: that is not your PIN or password." in words_of(answer)
    assert 'value="wait for the scan"' in answer.content.decode()
    assert not CaseDecision.objects.exists()
    confirm(surgeons, case_a, **(sent | {"signed_with": PIN}))
    assert CaseDecision.objects.count() == 1
    said = SecurityEvent.objects.filter(what="sign", outcome="done").get()
    assert (said.who.username, said.detail) == ("surgeon", f"{act} case A")


def test_a_page_made_for_another_or_changed_meanwhile_decides_nothing(
    surgeons: Client, case_a: Case
) -> None:
    saw = sealed(surgeons, case_a)
    assert "too old or was not made for you" in words_of(confirm(surgeons, case_a, saw="forged"))
    Case.objects.filter(pk=case_a.pk).update(minutes=200)
    assert "changed while you were looking" in words_of(confirm(surgeons, case_a, saw=saw))
    assert not CaseDecision.objects.exists()


def test_a_technique_s_question_is_answered_beside_the_decision(
    surgeons: Client, case_a: Case
) -> None:
    sent = CHOSEN | {"act": "save", "fact:cup": "retained", "fact:liner_inner_diameter": "36"}
    surgeons.post(reverse("plan", args=[case_a.pk]), sent)
    assert "The technique asks: retained cup inspected on film" in page_of(
        surgeons, "decide", case_a.pk
    )
    answer = {"plan": "2", "code": "retained cup inspected on film"}
    surgeons.post(reverse("answer", args=[case_a.pk]), answer)
    assert "The technique asks" not in page_of(surgeons, "decide", case_a.pk)


def test_only_the_surgeon_decides(
    case_a: Case,
    surgeon: Person,
    other_surgeon: Person,
    coordinator: Person,
    manager: Person,
    client_of: Callable[[Person], Client],
) -> None:
    assert case_a.surgeon is not None
    case_a.surgeon.colleagues.add(other_surgeon.user)
    for page in ("decide", "answer"):
        statuses = {
            client_of(person).post(reverse(page, args=[case_a.pk])).status_code
            for person in (other_surgeon, coordinator, manager)
        }
        assert statuses == {403}
    assert not CaseDecision.objects.exists()


def test_who_may_take_on_gaps(
    case_a: Case,
    surgeon: Person,
    manager: Person,
    sterile_services: Person,
    stranger: Person,
    client_of: Callable[[Person], Client],
) -> None:
    url = reverse("on_it", args=[case_a.pk])
    statuses = {
        person.user.username: client_of(person).post(url).status_code
        for person in (surgeon, manager, sterile_services, stranger)
    }
    assert statuses == {"surgeon": 403, "manager": 403, "sterile": 302, "stranger": 404}


def calendar_path(client: Client) -> str:
    shown = str(client.post("/calendar/", {"act": "renew"}).context["shown"])
    return shown[shown.index("/calendar/") :]


def titles(client: Client, path: str) -> list[str]:
    answer = client.get(path)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    found = icalendar.Calendar.from_ical(answer.content)
    return [str(event["SUMMARY"]) for event in found.walk("VEVENT")]


def test_the_calendar_has_the_verdict_in_the_title(
    surgeons: Client, case_a: Case, case_b: Case, client: Client
) -> None:
    assert titles(client, calendar_path(surgeons)) == ["Covered · A LEFT REVISION-STEM"]


def test_an_error_of_the_engine_is_not_known_in_the_title(
    surgeons: Client, case_a: Case, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = calendar_path(surgeons)

    def fails(*_: object) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr("scheduling.web.planning.calendar.coverage_now", fails)
    assert titles(client, path) == ["Not known · A LEFT"]


def test_a_tap_adds_the_calendar_to_the_phone(surgeons: Client, site: Site) -> None:
    site.address = "https://muster.ottermere.example"
    site.save()
    page = surgeons.post("/calendar/", {"act": "renew"})
    shown = page.context["shown"]
    assert shown.startswith("https://muster.ottermere.example/calendar/")
    assert f'href="webcal{shown.removeprefix("https")}"' in page.content.decode()


def test_a_renewed_or_ended_address_opens_nothing(
    surgeons: Client, surgeon: Person, case_a: Case, client: Client
) -> None:
    old = calendar_path(surgeons)
    new = calendar_path(surgeons)
    assert client.get(old).status_code == 404
    assert client.get(new).status_code == 200
    surgeon.user.is_active = False
    surgeon.user.save()
    assert client.get(new).status_code == 404
    surgeon.user.is_active = True
    surgeon.user.save()
    surgeons.force_login(surgeon.user)
    surgeons.post("/calendar/", {"act": "end"})
    assert client.get(new).status_code == 404
    assert client.get("/calendar/nobody.ics").status_code == 404


def test_what_else_of_the_line_is_in_the_house(
    surgeons: Client, case_a: Case, case_b: Case, django_assert_num_queries: Any
) -> None:
    url = reverse("in_house", args=[case_a.pk])
    with django_assert_num_queries(24):
        said = words_of(surgeons.get(url))
    assert "Stem, line A: " in said
    assert "stem A, size 12, STANDARD offset, 225 mm planned" in said
    assert surgeons.get(reverse("in_house", args=[case_b.pk])).status_code == 404
