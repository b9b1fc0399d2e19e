"""Alerts open with their cause, are told once, and go with their cause."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from deploy.kit.models import OutboxMessage, Person, Site
from implants.models import Unit
from implants.operations.holds import lift_quarantine, quarantine, recall
from implants.operations.recalls import open_recall, retrieve_box
from implants.recalls.notice import Named
from scheduling.alerts.queries import Acted, acted_on, open_alerts
from scheduling.models import (
    Alert,
    AlertTold,
    Case,
    Technique,
    TechniqueSet,
    UnitReservation,
)
from scheduling.operations.alerts import Watched, watch
from scheduling.operations.cases import cancel_case
from tests import factories
from tests.factories import NOW
from trays.models import Load, Machine, Pack

ClientOf = Callable[[Person], Client]


@pytest.fixture
def case(site: Site, surgeon: Person) -> Case:
    """A case that needs one stem, of which there is one, promised to it, and is covered."""
    implant = factories.implant(site, size=12)
    case = factories.case(
        site,
        surgeon=surgeon.user.surgeon,
        technique=factories.technique(site),
        components={"stem": {"size": 12}},
    )
    factories.promised_unit(case, factories.unit(implant))
    return case


def look(site: Site) -> Watched:
    return watch(site=site, now=site.now())


def test_the_loss_of_cover_opens_one_alert_and_its_end_closes_it(
    site: Site, case: Case, coordinator: Person, sterile_services: Person
) -> None:
    assert look(site) == Watched((), ())
    box = quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    (alert,) = look(site).opened
    assert (alert.case, alert.kind, alert.roles) == (
        case,
        "no longer covered",
        ["implant coordinator"],
    )
    assert alert.said.startswith("Case C1 was covered and is not covered.")
    assert look(site) == Watched((), ())
    second = factories.person(site, "second", "implant coordinator")
    lift_quarantine(unit=box, reason="dry", by=coordinator, second=second, now=NOW)
    assert look(site).closed == (alert,)
    assert not Alert.objects.filter(closed_at=None).exists()


def unit_of(case: Case) -> Unit:
    return UnitReservation.objects.get(case=case).unit


def test_it_is_the_coordinators_and_the_surgeons_and_nobody_elses(
    site: Site,
    case: Case,
    coordinator: Person,
    sterile_services: Person,
    surgeon: Person,
    other_surgeon: Person,
    stranger: Person,
) -> None:
    look(site)
    quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    look(site)
    shown = {p: len(open_alerts(p)) for p in (coordinator, surgeon)}
    assert set(shown.values()) == {1}
    assert [open_alerts(p) for p in (sterile_services, other_surgeon, stranger)] == [[], [], []]


def test_mail_goes_to_who_can_act_once(site: Site, case: Case, coordinator: Person) -> None:
    coordinator.user.email = "coordinator@ottermere.example"
    coordinator.user.save()
    look(site)
    quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    look(site)
    look(site)
    (mail,) = OutboxMessage.objects.all()
    assert (mail.kind, mail.to) == ("alert", "coordinator@ottermere.example")
    assert "Case C1 was covered and is not covered." in mail.body
    assert f"{site.address}{reverse('alerts')}" in mail.body


def test_a_recall_that_touches_a_promised_box_is_one_alert(
    site: Site, case: Case, coordinator: Person
) -> None:
    look(site)
    recall(units=[unit_of(case)], reason="Lot L1", by=coordinator, now=NOW)
    kinds = sorted(alert.kind for alert in look(site).opened)
    assert kinds == ["no longer covered", "recalled or failed"]


def test_a_recalled_box_that_was_found_interrupts_no_more(
    site: Site, case: Case, coordinator: Person, client_of: ClientOf
) -> None:
    look(site)
    unit = unit_of(case)
    named = [Named(unit.implant, lot=unit.lot)]
    made = open_recall(title="FSN 12", named=named, is_drill=False, by=coordinator, now=NOW)
    recalled, lost = sorted(look(site).opened, key=lambda one: one.kind, reverse=True)
    assert recalled.said == f"Recall {made.pk}: FSN 12: box {unit.code} (case C1)."
    answer = client_of(coordinator).post(reverse("alert", args=[recalled.pk]))
    assert answer.headers["Location"] == reverse("recall", args=[made.pk])
    retrieve_box(box=made.boxes.get(), by=coordinator, now=NOW)
    assert look(site).closed == (recalled,)
    lost.refresh_from_db()
    assert lost.closed_at is None


def test_a_failed_load_with_a_promised_tray_is_one_alert(
    site: Site, case: Case, sterile_services: Person, coordinator: Person
) -> None:
    version = factories.configuration(site)
    trays = [factories.tray(version, code) for code in ("BASE/1", "BASE/2", "BASE/3")]
    machine = Machine.objects.create(
        site=site, code="S1", kind="steriliser", places=8, cycle_minutes=60
    )
    load = Load.objects.create(machine=machine, number=7, state="failed", opened_at=NOW)
    for tray in trays:
        Pack.objects.create(tray=tray, number=1, first_seq=1, packed_at=NOW, load=load)
    for tray in trays[:2]:
        factories.promised_tray(case, tray)
    look(site)
    (alert,) = [one for one in Alert.objects.all() if one.kind == "recalled or failed"]
    assert alert.said == "Load S1-7 failed: tray BASE/1 (case C1); tray BASE/2 (case C1)."
    assert alert.load == load
    assert len(open_alerts(sterile_services)) == 1
    assert open_alerts(coordinator) == []


def test_it_says_what_stands_now_and_tells_who_can_act_now(
    site: Site, case: Case, coordinator: Person, sterile_services: Person
) -> None:
    sterile_services.user.email = "sterile@ottermere.example"
    sterile_services.user.save()
    look(site)
    box = quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    (alert,) = look(site).opened
    assert OutboxMessage.objects.count() == 0
    # The stem is back, and the case asks for a set now that there is no tray of.
    second = factories.person(site, "second", "implant coordinator")
    lift_quarantine(unit=box, reason="dry", by=coordinator, second=second, now=NOW)
    factories.configuration(site)
    TechniqueSet.objects.create(
        technique=Technique.objects.get(), purpose="femoral preparation", options=[["BASE"]]
    )
    assert look(site) == Watched((), ())
    alert.refresh_from_db()
    assert alert.roles == ["sterile services"]
    assert "wet" not in alert.said
    (mail,) = OutboxMessage.objects.all()
    assert mail.to == "sterile@ottermere.example"
    assert open_alerts(coordinator) == []


def test_a_cancelled_case_takes_its_alert_with_it(
    site: Site, case: Case, coordinator: Person
) -> None:
    look(site)
    quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    look(site)
    cancel_case(case=case, by=coordinator, now=NOW)
    assert len(look(site).closed) == 1


def test_an_error_of_the_engine_opens_and_closes_nothing(
    site: Site, case: Case, coordinator: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    look(site)

    def fails(site: Site) -> None:
        raise RuntimeError("no verdict")

    monkeypatch.setattr("scheduling.operations.alerts.coverage_now", fails)
    errors = StringIO()
    call_command("watch_cover", stderr=errors)
    assert errors.getvalue() == "ottermere: not watched: RuntimeError: no verdict\n"
    assert not Alert.objects.exists()


# -- on screen --------------------------------------------------------------------------------


@pytest.fixture
def alert(site: Site, case: Case, coordinator: Person) -> Alert:
    look(site)
    quarantine(unit=unit_of(case), reason="wet", by=coordinator, now=NOW)
    return look(site).opened[0]


def test_the_strip_shows_it_and_the_button_leads_to_the_case(
    site: Site, alert: Alert, coordinator: Person, client_of: ClientOf
) -> None:
    client = client_of(coordinator)
    strip = client.get(reverse("alerts_open")).content.decode()
    assert "Case C1 was covered and is not covered." in strip
    answer = client.post(reverse("alert", args=[alert.pk]))
    assert answer.headers["Location"] == reverse("case", args=[alert.case_id])
    since = site.now() - timedelta(days=1)
    assert acted_on(site, since) == [Acted("no longer covered", 1, 1)]
    assert "no longer covered" in client.get(reverse("alerts")).content.decode()


def test_whoever_went_to_see_to_it_sees_it_quietly_until_its_cause_is_gone(
    site: Site, alert: Alert, coordinator: Person, surgeon: Person, client_of: ClientOf
) -> None:
    client_of(coordinator).post(reverse("alert", args=[alert.pk]))
    for person, is_quiet in ((coordinator, True), (surgeon, False)):
        strip = client_of(person).get(reverse("alerts_open")).text
        assert alert.said in strip
        assert ("alert--seen" in strip) is is_quiet


def test_a_manager_finds_what_is_open_for_others_and_how_often_people_act(
    site: Site, alert: Alert, coordinator: Person, manager: Person, client_of: ClientOf
) -> None:
    client = client_of(manager)
    assert reverse("alerts") in client.get(reverse("notices")).text
    page = client.get(reverse("alerts")).text
    assert "Nothing interrupts you." in page
    assert "for implant coordinator: Case C1 was covered and is not covered." in page
    assert "None was shown to anybody." in page
    client_of(coordinator).get(reverse("alerts_open"))
    row = (
        '<th scope="row">no longer covered</th><td class="number">1</td><td class="number">{}</td>'
    )
    assert row.format(0) in client.get(reverse("alerts")).text
    client_of(coordinator).post(reverse("alert", args=[alert.pk]))
    assert row.format(1) in client.get(reverse("alerts")).text


def test_a_surgeon_reads_of_the_own_cases_alone(
    alert: Alert, surgeon: Person, other_surgeon: Person, client_of: ClientOf
) -> None:
    Alert.objects.update(closed_at=NOW)
    assert alert.said in client_of(surgeon).get(reverse("alerts")).text
    page = client_of(other_surgeon).get(reverse("alerts")).text
    assert alert.said not in page
    assert "How often people act" not in page


def test_it_is_counted_as_shown_once_a_person(
    alert: Alert, coordinator: Person, surgeon: Person, client_of: ClientOf
) -> None:
    for person in (coordinator, coordinator, surgeon):
        client_of(person).get(reverse("alerts_open"))
    assert AlertTold.objects.count() == 2


def test_another_site_sees_and_touches_nothing(
    alert: Alert, stranger: Person, client_of: ClientOf
) -> None:
    client = client_of(stranger)
    assert client.get(reverse("alerts_open")).content.decode().strip() == ""
    assert client.post(reverse("alert", args=[alert.pk])).status_code == 404


def test_the_strip_costs_few_queries(
    alert: Alert,
    coordinator: Person,
    client_of: ClientOf,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    with django_assert_num_queries(2):
        open_alerts(coordinator)


def test_the_page_costs_as_many_queries_however_many_alerts(
    site: Site,
    alert: Alert,
    coordinator: Person,
    client_of: ClientOf,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_of(coordinator)
    for number in range(5):
        for closed_at in (None, NOW):
            Alert.objects.create(
                site=site,
                kind=alert.kind,
                cause=f"another {number}",
                case=alert.case,
                said="more",
                roles=["sterile services"] if number % 2 else alert.roles,
                opened_at=NOW,
                closed_at=closed_at,
            )
    client.get(reverse("alerts"))
    with django_assert_num_queries(8):
        assert client.get(reverse("alerts")).text.count("more") >= 10


def test_asking_for_alerts_does_not_keep_a_session_open(
    alert: Alert, coordinator: Person, client_of: ClientOf
) -> None:
    client = client_of(coordinator)
    session = client.session
    session["seen"] -= 9 * 60
    session.save()
    client.get(reverse("alerts_open"))
    assert client.session["seen"] == session["seen"]
    client.get(reverse("alerts"))
    assert client.session["seen"] > session["seen"]
