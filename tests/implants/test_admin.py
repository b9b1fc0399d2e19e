"""The implant catalogue and the shelf in the admin."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person
from implants.models import Implant, Supplier, Unit
from tests import factories
from tests.admin_forms import send


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


def test_an_implant_has_one_field_an_attribute(browser, site):
    assert not send(
        browser,
        "implants_implant_add",
        ref="H-36",
        role="head",
        diameter="36",
        neck_length="-3.5",
        taper="T1",
        gtin="02000010000012",
    )
    implant = Implant.objects.get()
    assert (implant.site, implant.gtin) == (site, "02000010000012")
    assert implant.attributes == {"diameter": 36, "neck_length": -3.5, "taper": "T1"}


def test_an_emptied_field_takes_the_attribute_away(browser, site):
    implant = factories.implant(site, size=12, offset="high")
    assert not send(
        browser, "implants_implant_change", implant.pk, ref="STEM-12", role="stem", size="13"
    )
    implant.refresh_from_db()
    assert implant.attributes == {"size": 13}


def test_an_implant_with_faults_is_refused_with_all_of_them(browser, site):
    factories.implant(site)
    faults = send(
        browser, "implants_implant_add", ref="STEM-12", role="stem", size="x", gtin="02000010000013"
    )
    assert faults == [
        "Implant with this Site and REF already exists.",
        "The last digit of 02000010000013 should be 2: compare it with the label.",
        "Enter a number.",
    ]
    assert Implant.objects.count() == 1


def test_a_box_says_its_use_by_date_or_that_it_has_none(browser, site):
    implant = factories.implant(site)
    box = {"code": "U1", "implant": implant.pk, "owner": "owned"}
    assert send(browser, "implants_unit_add", **box) == [
        "the use-by date, or tick “does not expire”"
    ]
    assert send(browser, "implants_unit_add", **box, expiry="2031-12-31", does_not_expire="on") == [
        "leave the date empty, or untick “does not expire”"
    ]
    assert not send(browser, "implants_unit_add", **box, expiry="2031-12-31")
    assert Unit.objects.get().expiry == date(2031, 12, 31)


def test_times_are_the_sites_own(browser, site):
    # British Summer Time: 09:00 in London is 08:00 UTC.
    box = {"code": "U1", "implant": factories.implant(site).pk, "owner": "owned"}
    assert not send(
        browser,
        "implants_unit_add",
        **box,
        does_not_expire="on",
        expected_at_0="2027-06-01",
        expected_at_1="09:00",
    )
    unit = Unit.objects.get()
    assert unit.expected_at == datetime(2027, 6, 1, 8, tzinfo=UTC)
    assert (
        'value="09:00:00"'
        in browser.get(reverse("admin:implants_unit_change", args=[unit.pk])).text
    )


# -- a box's state ------------------------------------------------------------------------------


@pytest.fixture
def box(site) -> Unit:
    return factories.unit(factories.implant(site))


def form_of(unit: Unit, **values) -> dict:
    same = {"code": unit.code, "implant": unit.implant_id, "owner": "owned", "seq": unit.seq}
    return same | {"expiry": "2031-12-31"} | values


def stands(unit: Unit) -> tuple[str, int, str]:
    unit.refresh_from_db()
    return unit.state, unit.seq, unit.hold


def test_saving_a_box_leaves_its_state_alone(browser, box):
    assert not send(browser, "implants_unit_change", box.pk, **form_of(box, location="B-01"))
    assert stands(box) == ("on the shelf", 1, "")
    assert box.location == "B-01"


def test_a_hold_is_recorded_with_its_reason_and_the_person(browser, box, coordinator):
    change = ("implants_unit_change", box.pk)
    assert send(browser, *change, **form_of(box, happened="quarantine")) == ["why"]
    assert not send(browser, *change, **form_of(box, happened="quarantine", reason="dropped"))
    assert stands(box) == ("quarantine", 2, "dropped")
    assert box.movements.get(seq=2).by == coordinator.user
    page = browser.get(reverse("admin:implants_unit_change", args=[box.pk])).text
    assert "quarantine: on the shelf → quarantine, Coordinator, dropped" in page


@pytest.fixture
def second_coordinator(site) -> Person:
    person = factories.person(site, "second", "implant coordinator")
    person.user.set_password("a fair copy")
    person.user.save()
    return person


def lift(box: Unit, **values) -> dict:
    return form_of(box, happened="lift the hold", reason="looked at, intact", **values)


@pytest.fixture
def held_box(box) -> Unit:
    factories.held(box, "dropped")
    box.refresh_from_db()
    return box


def test_a_second_person_signs_to_lift_a_hold(browser, held_box, second_coordinator):
    change = ("implants_unit_change", held_box.pk)
    signed = {"second": second_coordinator.user.username, "second_pin": "a fair copy"}
    assert not send(browser, *change, **lift(held_box, **signed))
    assert stands(held_box) == ("on the shelf", 3, "")
    assert held_box.movements.get(seq=3).second == second_coordinator.user


@pytest.mark.parametrize("password", ["", "a wrong one"])
def test_no_hold_is_lifted_without_the_second_persons_password(
    browser, held_box, second_coordinator, password
):
    signed = {"second": second_coordinator.user.username, "second_pin": password}
    faults = send(browser, "implants_unit_change", held_box.pk, **lift(held_box, **signed))
    assert faults == ["Not signed: that is not the PIN or password of Second."]
    assert stands(held_box) == ("quarantine", 2, "dropped")


def test_one_person_does_not_sign_twice(browser, held_box, coordinator):
    coordinator.user.set_password("a fair copy")
    coordinator.user.save()
    browser.force_login(coordinator.user)
    signed = {"second": coordinator.user.username, "second_pin": "a fair copy"}
    faults = send(browser, "implants_unit_change", held_box.pk, **lift(held_box, **signed))
    assert faults == ["Not signed: this takes two different people."]
    assert stands(held_box) == ("quarantine", 2, "dropped")


def test_a_mere_reader_does_not_sign(browser, held_box, manager):
    manager.user.set_password("a fair copy")
    manager.user.save()
    signed = {"second": manager.user.username, "second_pin": "a fair copy"}
    faults = send(browser, "implants_unit_change", held_box.pk, **lift(held_box, **signed))
    assert faults == ["Not signed: Manager may not sign this."]


def test_the_second_persons_secret_is_tried_five_times(browser, held_box, second_coordinator):
    change = ("implants_unit_change", held_box.pk)
    wrong = {"second": second_coordinator.user.username, "second_pin": "a wrong one"}
    for _ in range(5):
        send(browser, *change, **lift(held_box, **wrong))
    (fault,) = send(browser, *change, **lift(held_box, **wrong | {"second_pin": "a fair copy"}))
    assert fault.startswith("Not signed: too many tries. Try again at ")
    assert stands(held_box) == ("quarantine", 2, "dropped")


def test_a_form_that_is_older_than_the_box_is_refused(browser, box):
    factories.held(box, "dropped")
    old = form_of(box, happened="waste", reason="expired", seq=1)
    answer = browser.post(reverse("admin:implants_unit_change", args=[box.pk]), old, follow=True)
    assert "U001 was changed by someone else meanwhile." in answer.text
    assert stands(box) == ("quarantine", 2, "dropped")


def test_an_expected_box_is_received(browser, site):
    awaited = factories.unit(factories.implant(site), expected_at=factories.NOW)
    assert not send(
        browser, "implants_unit_change", awaited.pk, **form_of(awaited, happened="receive")
    )
    assert stands(awaited) == ("on the shelf", 2, "")


def test_a_box_on_the_shelf_is_not_expected(browser, box):
    late = {"expected_at_0": "2027-06-01", "expected_at_1": "09:00"}
    assert send(browser, "implants_unit_change", box.pk, **form_of(box, **late)) == [
        "a box that is on the shelf is not expected"
    ]


def test_a_box_with_a_history_is_not_deleted(browser, box):
    answer = browser.post(reverse("admin:implants_unit_delete", args=[box.pk]), {"post": "yes"})
    assert answer.status_code == 403
    assert Unit.objects.filter(pk=box.pk).exists()


def test_a_supplier_has_terms_and_closed_dates(browser, site):
    supplier = {"code": "NORTH", "name": "Maker North", "lead_days": "2", "use_by_days": "365"}
    assert not send(
        browser,
        "implants_supplier_add",
        **supplier,
        **{"closed_dates-TOTAL_FORMS": 1, "closed_dates-0-day": "2027-03-26"},
    )
    (made,) = Supplier.objects.filter(site=site)
    assert [str(closed) for closed in made.closed_dates.all()] == ["2027-03-26"]
    implant = factories.implant(site)
    assert implant.days_to_delivery is None
    assert not send(
        browser,
        "implants_implant_change",
        implant.pk,
        ref="STEM-12",
        role="stem",
        supplier=made.pk,
    )
    assert Implant.objects.get().days_to_delivery == 2
