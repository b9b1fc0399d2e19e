"""Booking, moving and cancelling: what it would do first, then done; and who may."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from scheduling.models import Case, CaseStatus, Surgeon, Theatre, TrayReservation
from scheduling.operations.pick_lists import print_pick_list
from scheduling.operations.reservations import reserve_tray
from tests.scheduling.web.pages.test_views import words_of
from trays.models import Tray

BOOKING = {
    "ref": "NEW-1",
    "day": "2026-03-11",
    "clock": "08:30",
    "minutes": "120",
    "side": "right",
    "priority": "elective",
}


@pytest.fixture
def coordinators(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


@pytest.fixture
def surgeons(surgeon: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(surgeon)


def when(case: Case, **changed: str) -> dict[str, str]:
    local = case.site.local(case.start)
    return {
        "day": f"{local:%Y-%m-%d}",
        "clock": f"{local:%H:%M}",
        "minutes": str(case.minutes),
        "theatre": str(case.theatre_id),
        "was": case.start.isoformat(),
    } | changed


def test_the_coordinator_books_for_a_surgeon(
    coordinators: Client, case_a: Case, theatre: Theatre
) -> None:
    sent = BOOKING | {"theatre": str(theatre.pk), "surgeon": str(case_a.surgeon_id)}
    answer = coordinators.post("/cases/book/", sent)
    case = Case.objects.get(ref="NEW-1")
    assert answer.headers["Location"] == reverse("case", args=[case.pk])
    assert (case.theatre, case.surgeon, case.side) == (theatre, case_a.surgeon, "right")
    assert f"{case.site.local(case.start):%d %H:%M}" == "11 08:30"


def test_a_surgeon_books_for_themselves(
    surgeons: Client, surgeon: Person, other_surgeon: Person, case_a: Case
) -> None:
    theirs = Surgeon.objects.get(user=other_surgeon.user)
    surgeons.post("/cases/book/", BOOKING | {"surgeon": str(theirs.pk)})
    assert Case.objects.get(ref="NEW-1").surgeon == Surgeon.objects.get(user=surgeon.user)


def test_faults_stand_at_their_fields_all_at_once(coordinators: Client, case_a: Case) -> None:
    answer = coordinators.post("/cases/book/", BOOKING | {"minutes": "0", "side": "", "day": "x"})
    assert answer.status_code == 400
    assert set(answer.context["form"].errors) == {"minutes", "side", "day"}
    taken = coordinators.post("/cases/book/", BOOKING | {"ref": "A"})
    assert "There is already a case A." in words_of(taken)


def test_a_day_long_past_is_a_mistyped_year(coordinators: Client, case_a: Case, site: Site) -> None:
    today = site.local(site.now()).date()
    long_past = today.replace(year=today.year - 1)
    said = f"{long_past:%a} {long_past.day} {long_past:%B %Y} is past. Choose today or later."
    booked = coordinators.post("/cases/book/", BOOKING | {"day": str(long_past)})
    assert booked.context["form"].errors == {"day": [said]}
    sent = when(case_a, day=str(long_past), act="move")
    assert said in words_of(coordinators.post(reverse("move", args=[case_a.pk]), sent))
    start = case_a.start
    case_a.refresh_from_db()
    assert case_a.start == start


def test_a_case_of_the_night_is_entered_late(coordinators: Client, site: Site) -> None:
    last_night = site.local(site.now()).date() - timedelta(days=1)
    sent = BOOKING | {"day": str(last_night), "clock": "23:30"}
    assert coordinators.post("/cases/book/", sent).status_code == 302


def test_a_time_that_the_clocks_skip_is_refused(
    coordinators: Client, site: Site, case_a: Case
) -> None:
    Site.objects.filter(pk=site.pk).update(timezone="Europe/London")
    answer = coordinators.post("/cases/book/", BOOKING | {"day": "2026-03-29", "clock": "01:30"})
    assert "the clocks skip 01:30 on 29 Mar 2026" in words_of(answer)


def test_a_move_is_shown_first_with_the_cases_that_it_changes(
    coordinators: Client, case_a: Case, case_b: Case
) -> None:
    """A day later A's add-on set is B's on the day itself."""
    sent = when(case_a, day="2026-03-12")
    said = words_of(coordinators.post(reverse("move_preview", args=[case_a.pk]), sent))
    assert "B · Tue 10 Mar 16:30 · Theatre 1 Not covered → Covered" in said
    case_a.refresh_from_db()
    assert case_a.site.local(case_a.start).day == 10


def test_a_move_names_the_clash_the_freed_and_the_void_lists(
    coordinators: Client, coordinator: Person, case_a: Case, case_b: Case
) -> None:
    now = case_a.site.now()
    tray = Tray.objects.get(site=case_a.site, code="ADD/1")
    reserve_tray(case=case_a, tray=tray, by=coordinator, now=now)
    printed = print_pick_list(case=case_a, by=coordinator, now=now)
    Case.objects.filter(pk=case_b.pk).update(start=case_b.start + timedelta(days=2))
    reserve_tray(case=case_b, tray=tray, by=coordinator, now=now)
    sent = when(case_a, day="2026-03-12", clock="17:00")
    said = words_of(coordinators.post(reverse("move_preview", args=[case_a.pk]), sent))
    assert "Clash in Theatre 1: A would begin 150 min before B ends." in said
    assert "Tray ADD/1, reserved for case A" in said
    assert f"Case A, list {printed.pick_list.code} version 1" in said
    assert TrayReservation.objects.filter(freed_at=None).count() == 2


def test_moves_as_one_change_and_says_what_was_freed(
    coordinators: Client, coordinator: Person, case_a: Case, case_b: Case
) -> None:
    now = case_a.site.now()
    tray = Tray.objects.get(site=case_a.site, code="ADD/1")
    reserve_tray(case=case_a, tray=tray, by=coordinator, now=now)
    sent = when(case_a, day="2026-03-11") | {"act": "move"}
    answer = coordinators.post(reverse("move", args=[case_a.pk]), sent, follow=True)
    assert "Case A is moved." in words_of(answer)
    case_a.refresh_from_db()
    assert case_a.site.local(case_a.start).date() == date(2026, 3, 11)
    again = coordinators.post(reverse("move", args=[case_a.pk]), sent, follow=True)
    assert "Case A was moved meanwhile" in words_of(again)


def test_cancelling_names_what_is_free_and_who_gains(
    coordinators: Client, coordinator: Person, case_a: Case, case_b: Case
) -> None:
    tray = Tray.objects.get(site=case_a.site, code="ADD/1")
    reserve_tray(case=case_a, tray=tray, by=coordinator, now=case_a.site.now())
    url = reverse("cancel", args=[case_a.pk])
    said = words_of(coordinators.get(url))
    assert "Reserved for it, and free then Tray ADD/1" in said
    assert "Not covered → Covered" in said
    coordinators.post(url)
    case_a.refresh_from_db()
    assert case_a.status == CaseStatus.CANCELLED
    assert not TrayReservation.objects.filter(freed_at=None).exists()
    assert coordinators.get(url).status_code == 302


@pytest.mark.parametrize("page", ["move", "cancel", "move_preview"])
def test_who_may_move_and_cancel(
    page: str,
    case_b: Case,
    surgeon: Person,
    other_surgeon: Person,
    sterile_services: Person,
    theatre_team: Person,
    manager: Person,
    stranger: Person,
    client_of: Callable[[Person], Client],
) -> None:
    url = reverse(page, args=[case_b.pk])
    shown = when(case_b) | {"act": "show"}
    people = (surgeon, other_surgeon, sterile_services, theatre_team, manager, stranger)
    statuses = {
        person.user.username: client_of(person).post(url, shown).status_code for person in people
    }
    allowed = statuses.pop("other-surgeon")
    assert allowed in (200, 302)
    assert statuses == {
        "surgeon": 404,
        "sterile": 403,
        "theatre": 403,
        "manager": 403,
        "stranger": 404,
    }


def test_previews_cost_the_same_however_much_is_held(
    coordinators: Client, coordinator: Person, case_a: Case, django_assert_num_queries: Any
) -> None:
    url = reverse("move_preview", args=[case_a.pk])
    tray = Tray.objects.get(site=case_a.site, code="ADD/1")
    reserve_tray(case=case_a, tray=tray, by=coordinator, now=case_a.site.now())
    for more in range(2):
        with django_assert_num_queries(34):
            coordinators.post(url, when(case_a, day="2026-03-11"))
        other = Case.objects.create(
            site=case_a.site, ref=f"M{more}", start=case_a.start, minutes=60
        )
        assert other.pk
