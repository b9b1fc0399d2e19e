"""The page for a box that the house never received."""

from __future__ import annotations

import pytest
from django.urls import reverse

from scheduling.models import LabelCheck, OutsideBox, TrayTaken
from scheduling.web.theatre.outside import NAMED
from tests import factories
from tests.factories import PIN
from tests.scheduling.theatre.hip import Hip, hip

TYPED = {
    "outcome": "implanted",
    "role": "screw",
    "words": "screw, 30 mm",
    "maker": "Maker North",
    "ref": "SCR-30",
    "lot": "L7",
    "does_not_expire": "on",
    "reason": "none was left",
    "second": "coordinator",
    "second_pin": PIN,
}


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def team(of, theatre_team, coordinator, client_of):
    factories.with_pin(coordinator)
    factories.with_pin(theatre_team)
    return client_of(theatre_team)


@pytest.fixture
def page(of, team):
    def of_name(name, **form) -> str:
        url = reverse(name, args=[of.case.pk])
        answer = team.post(url, form, follow=True) if form else team.get(url)
        return answer.content.decode()

    return of_name


def test_is_recorded_shown_and_taken_off(page):
    assert "is recorded as implanted, never received here." in page("outside", **TYPED)
    box = OutsideBox.objects.get()
    assert "Never received here" in page("in_theatre")
    assert "never received here" in page("implant_record")
    said = {"box": box.pk, "reason": "typed twice", "second": "coordinator", "second_pin": PIN}
    refused = page("outside_void", **said | {"second_pin": "guessed"})
    assert "Nothing was changed." in refused
    assert 'value="typed twice"' in refused
    assert "off the record: entered in error." in page("outside_void", **said)
    assert "never received here</strong>" not in page("implant_record")


def test_without_the_second_person_nothing_is_recorded_and_what_was_typed_stays(page):
    answer = page("outside", **(TYPED | {"second_pin": "0000"}))
    assert "Not signed: that is not the PIN or password of Coordinator." in answer
    assert 'value="SCR-30"' in answer
    assert not OutsideBox.objects.exists()


def test_every_fault_is_named(page):
    answer = page("outside", role="screw")
    assert "Give the date, or tick that the label states none." in answer
    assert "The LOT or the serial, as the label has it." in answer


def test_a_label_that_nobody_knows_leads_here_filled_in(of, team, page):
    answer = page("in_theatre", text="]d201095060001178431730123110AB7")
    check = LabelCheck.objects.get()
    assert check.reason["code"] == "unknown item"
    address = f"{reverse('outside', args=[of.case.pk])}?check={check.pk}"
    assert address in answer
    form = team.get(address).content.decode()
    assert 'value="AB7"' in form
    assert 'value="09506000117843"' in form
    assert 'value="2030-12-31"' in form


def test_the_house_s_own_boxes_of_that_lot_are_named_first(of, team, page):
    answer = page("outside", **(TYPED | {"ref": "LN-32", "lot": "L-ELSE-32", "second_pin": "0"}))
    assert "Is it one of these?" in answer
    assert "ELSE-32" in answer


def test_more_of_them_than_are_read_out_are_counted(of, page):
    stem, many = of.boxes["STEM"].implant, range(NAMED + 3)
    for number in many:
        factories.unit(stem, f"MANY{number:02}", lot="L-MANY", location="Stems 4")
    typed = TYPED | {"ref": stem.ref, "lot": "L-MANY", "second_pin": "0"}
    answer = page("outside", **typed)
    read_out = [f"MANY{number:02}" for number in many if f"MANY{number:02}" in answer]
    assert len(read_out) == NAMED
    assert "(Stems 4) and 3 more with this REF and LOT." in answer


def test_a_stopped_tray_is_used_with_a_reason_that_is_signed(of, page):
    factories.tray(of.tray.version, "BASE/2")
    assert "Record it as used" in page("in_theatre", text="BASE/2")
    said = {"check": LabelCheck.objects.get().pk, "reason": "the first fell down"}
    assert "that is not your PIN or password" in page("theatre_open", **said)
    assert "Tray BASE/2 is recorded as used." in page("theatre_open", **said, signed_with=PIN)
    assert TrayTaken.objects.get().override == "the first fell down"
    assert "used after a STOP: the first fell down" in page("implant_record")
