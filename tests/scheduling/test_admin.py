"""The admin as a coordinator uses it: through its forms, with the words and faults they show."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Site
from implants.models import Implant, Unit
from scheduling.models import HouseSettings, OpeningHours, Technique
from tests import factories
from trays.models import Configuration, Instrument, Tray
from trays.stages import Stage

OURS = sorted(
    f"{model._meta.app_label}_{model._meta.model_name}"
    for model in admin.site._registry
    if model._meta.app_label in ("trays", "implants", "scheduling")
)
NO_PARTS = {
    f"{prefix}-{name}": 0
    for prefix in ("sets", "rules", "checks", "confirmations", "missing_lines")
    for name in ("TOTAL_FORMS", "INITIAL_FORMS")
}


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


def send(browser: Client, page: str, *args: Any, **values: Any) -> list[str]:
    """Post a form; the faults that the page shows, none where it was saved."""
    answer = browser.post(reverse(f"admin:{page}", args=args), NO_PARTS | values)
    if answer.status_code == 302:
        return []
    lists = re.findall(r'<ul class="errorlist[^>]*>(.*?)</ul>', answer.text, re.DOTALL)
    return [unescape(item) for one in lists for item in re.findall(r"<li>(.*?)</li>", one)]


def unescape(text: str) -> str:
    return text.replace("&quot;", '"').replace("&#x27;", "'")


@pytest.mark.parametrize("model", OURS)
@pytest.mark.parametrize("page", ["changelist", "add"])
def test_every_page_opens_for_the_coordinator_alone(page, model, browser, client_of, manager, site):
    HouseSettings.objects.all().delete()  # there may be one a site: its add page is then closed
    url = reverse(f"admin:{model}_{page}")
    answer = browser.get(url)
    assert answer.status_code == 200
    assert not re.search(r"<script(?![^>]*(src=|application/json))|<style| style=", answer.text)
    assert client_of(manager).get(url).status_code == 302


def test_only_the_rows_of_ones_own_site_are_there(browser, site, stranger):
    ours, theirs = factories.implant(site), factories.implant(stranger.site, "THEIRS")
    page = browser.get(reverse("admin:implants_implant_changelist"))
    assert "STEM-12" in page.text
    assert "THEIRS" not in page.text
    change = "admin:implants_implant_change"
    assert browser.get(reverse(change, args=[ours.pk])).status_code == 200
    assert browser.get(reverse(change, args=[theirs.pk])).status_code == 302


def test_a_list_costs_a_fixed_number_of_queries(browser, site, django_assert_num_queries):
    implant = factories.implant(site)
    for number in range(5):
        factories.unit(implant, f"U{number}")
    browser.get(reverse("admin:implants_unit_changelist"))
    with django_assert_num_queries(12):
        browser.get(reverse("admin:implants_unit_changelist"))


# -- catalogue and shelf ----------------------------------------------------------------------


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


# -- configurations and trays -----------------------------------------------------------------

BASE = {"code": "BASE", "kind": "base", "turnaround_minutes": 360, "fast_track_minutes": ""}


@pytest.fixture
def reamers(site) -> list[Instrument]:
    return [factories.instrument(site, f"R{size}", diameter=size) for size in (12, 13, 14)]


def sheets() -> list[list[tuple[str, int]]]:
    return [
        list(version.contents.values_list("instrument__ref", "quantity"))
        for version in Configuration.objects.get().versions.all()
    ]


def test_a_changed_count_sheet_is_a_new_version(browser, reamers, coordinator):
    assert not send(browser, "trays_configuration_add", **BASE, count_sheet="R13\nR12 × 2\n")
    change = ("trays_configuration_change", Configuration.objects.get().pk)
    assert not send(browser, *change, **BASE | {"name": "Base set"}, count_sheet="R13\nR12 × 2")
    assert sheets() == [[("R13", 1), ("R12", 2)]]
    assert not send(browser, *change, **BASE, count_sheet="R12 × 2\nR13\nR14")
    assert sheets() == [[("R13", 1), ("R12", 2)], [("R12", 2), ("R13", 1), ("R14", 1)]]
    newest = Configuration.objects.get().versions.last()
    assert (newest.made_by, newest.made_at) == (coordinator.user, factories.NOW)


def test_a_count_sheet_with_faults_is_refused_with_all_of_them(browser, reamers):
    faults = send(
        browser,
        "trays_configuration_add",
        **BASE | {"fast_track_minutes": 361},
        count_sheet="R12\nR99\nR12\nR13 × 0",
    )
    assert faults == [
        "not more than the standard turnaround",
        "line 2: there is no instrument R99",
        "line 3: R12 has a line already",
        "line 4: R13: 1 or more, or no line",
    ]
    assert not Configuration.objects.exists()


def test_a_supplementary_pack_holds_a_single_instrument(browser, reamers):
    assert send(
        browser,
        "trays_configuration_add",
        **BASE | {"kind": "supplementary"},
        count_sheet="R12\nR13",
    ) == ["a supplementary pack holds a single instrument"]


@pytest.fixture
def version(site, reamers):
    return factories.configuration(site, contents={reamers[0]: 1, reamers[1]: 2})


def new_tray(version, **values: Any) -> dict[str, Any]:
    return {
        "code": "BASE/1",
        "configuration": version.configuration.pk,
        "stage": Stage.STERILE_STORE,
        "ready_at_0": "2027-03-01",
        "ready_at_1": "06:00",
        "owner": "owned",
        "missing_lines-TOTAL_FORMS": 1,
        "missing_lines-0-instrument": "",
        "missing_lines-0-quantity": 1,
    } | values


def test_a_tray_is_of_the_sheet_in_force_and_says_what_it_lacks(browser, version, reamers):
    missing = {"missing_lines-0-instrument": reamers[1].pk, "missing_lines-0-quantity": 2}
    assert not send(browser, "trays_tray_add", **new_tray(version, **missing))
    tray = Tray.objects.get()
    assert (tray.version, tray.asset) == (version, "0299999BASE/1")
    assert list(tray.missing_lines.values_list("instrument__ref", "quantity")) == [("R13", 2)]
    assert "2 × R13" in browser.get(reverse("admin:trays_tray_changelist")).text


@pytest.mark.parametrize(("ref", "quantity", "holds"), [("R13", 3, 2), ("R14", 1, 0)])
def test_a_tray_cannot_lack_what_its_sheet_does_not_have(browser, version, ref, quantity, holds):
    instrument = Instrument.objects.get(ref=ref)
    missing = {
        "missing_lines-0-instrument": instrument.pk,
        "missing_lines-0-quantity": quantity,
    }
    assert send(browser, "trays_tray_add", **new_tray(version, **missing)) == [
        f"the count sheet has {holds} of {ref}"
    ]
    assert not Tray.objects.exists()


def test_a_tray_stays_with_its_sheet_until_it_is_assembled_again(browser, version, reamers):
    tray = factories.tray(version)
    newer = version.configuration.versions.create(number=2, made_at=factories.NOW)
    newer.contents.create(instrument=reamers[0])
    change = ("trays_tray_change", tray.pk)
    assert not send(browser, *change, **new_tray(version, location="Shelf 1"))
    tray.refresh_from_db()
    assert (tray.version, tray.location) == (version, "Shelf 1")
    assert not send(browser, *change, **new_tray(version, assembled_to_sheet_in_force="on"))
    tray.refresh_from_db()
    assert tray.version == newer


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ({"ready_at_0": "", "ready_at_1": ""}, "when it is, or was, sterile and released"),
        ({"stage": Stage.QUARANTINE}, "a tray that is in “quarantine” has no ready time"),
        (
            {"expected_at_0": "2027-03-02", "expected_at_1": "09:00"},
            "only a tray “with supplier” is expected",
        ),
    ],
)
def test_a_tray_is_ready_or_awaited_or_on_hold(browser, version, values, fault):
    assert send(browser, "trays_tray_add", **new_tray(version, **values)) == [fault]


# -- house settings ---------------------------------------------------------------------------


def test_hours_are_written_as_on_a_clock(browser, site):
    hours = {"weekday": 5, "opens_minute": "8:00", "closes_minute": "24:00"}
    assert not send(browser, "scheduling_openinghours_add", **hours)
    saturday = OpeningHours.objects.get(weekday=5)
    assert (saturday.site, saturday.opens_minute, saturday.closes_minute) == (site, 480, 1440)
    page = browser.get(reverse("admin:scheduling_openinghours_change", args=[saturday.pk]))
    assert 'value="08:00"' in page.text
    assert 'value="24:00"' in page.text


def test_hours_that_make_no_sense_are_refused(browser, site):
    hours = {"weekday": 5, "opens_minute": "16.00", "closes_minute": "25:00"}
    assert send(browser, "scheduling_openinghours_add", **hours) == [
        "a time of day as HH:MM, not “16.00”",
        "a time of day as HH:MM, not “25:00”",
    ]
    hours = {"weekday": 5, "opens_minute": "16:00", "closes_minute": "08:00"}
    assert send(browser, "scheduling_openinghours_add", **hours) == ["after it opens"]


def test_a_site_has_one_row_of_house_settings(browser, site):
    house = HouseSettings.objects.get()
    assert browser.get(reverse("admin:scheduling_housesettings_add")).status_code == 403
    values = {
        "needed_before_minutes": 90,
        "out_of_theatre_minutes": 15,
        "shelf_return_minutes": 60,
        "loan_check_in_minutes": 120,
        "order_cut_off_minute": "15:30",
        "delivery_minute": "12:00",
        "short_dated_days": 90,
    }
    assert not send(browser, "scheduling_housesettings_change", house.pk, **values)
    house.refresh_from_db()
    assert (house.needed_before_minutes, house.order_cut_off_minute) == (90, 15 * 60 + 30)


# -- techniques -------------------------------------------------------------------------------

TECHNIQUE: dict[str, Any] = {
    "code": "REVISION-STEM",
    "sets-TOTAL_FORMS": 1,
    "sets-0-purpose": "femoral preparation",
    "sets-0-options_said": "STAND\nBASE + ADD",
    "rules-TOTAL_FORMS": 2,
    "rules-0-need": "contingency",
    "rules-0-quantity": 2,
    "rules-0-role": "stem",
    "rules-0-select_said": 'size: at stem.size, 1 below, 2 above\noffset: "high"\n'
    "length: stem.length",
    "rules-0-when_said": "approach is posterior or lateral\ncup_retained is no",
    "rules-1-need": "planned",
    "rules-1-quantity": 1,
    "rules-1-role": "reamer",
    "rules-1-position": 1,
    "checks-TOTAL_FORMS": 2,
    "checks-0-code": "tapers differ",
    "checks-0-kind": "equal",
    "checks-0-left_said": "head.taper",
    "checks-0-right_said": "stem.taper",
    "checks-1-code": "too short",
    "checks-1-kind": "at least",
    "checks-1-left_said": "stem.length",
    "checks-1-right_said": "osteotomy_mm + 2.5 × bone_mm",
    "confirmations-TOTAL_FORMS": 1,
    "confirmations-0-code": "film looked at",
    "confirmations-0-when_said": "cup_retained is yes",
}


@pytest.fixture
def catalogue(site: Site) -> None:
    for code in ("STAND", "BASE", "ADD"):
        factories.configuration(site, code)
    factories.instrument(site, role="reamer", diameter=12)
    factories.implant(site, "S", "stem", size=12, offset="high", length=225, taper="T1")
    factories.implant(site, "H", "head", taper="T1")


def test_a_technique_in_words_is_stored_in_the_scenario_format(browser, catalogue):
    assert not send(browser, "scheduling_technique_add", **TECHNIQUE)
    technique = Technique.objects.get()
    assert list(technique.sets.values_list("purpose", "options", "when")) == [
        ("femoral preparation", [["STAND"], ["BASE", "ADD"]], {})
    ]
    reamer, stem = technique.rules.all()  # the rule without a place came last
    assert (reamer.role, reamer.need, reamer.select, reamer.when) == ("reamer", "planned", {}, {})
    assert (stem.need, stem.quantity) == ("contingency", 2)
    assert stem.select == {
        "size": {"ladder": {"at": {"plan": "stem.size"}, "below": 1, "above": 2}},
        "offset": "high",
        "length": {"plan": "stem.length"},
    }
    assert stem.when == {"approach": ["posterior", "lateral"], "cup_retained": False}
    assert list(technique.checks.values_list("left", "right")) == [
        ("head.taper", "stem.taper"),
        (["stem.length"], ["osteotomy_mm", {"times": 2.5, "of": "bone_mm"}]),
    ]
    assert technique.confirmations.get().when == {"cup_retained": True}


def test_a_stored_technique_is_shown_in_words_and_saved_again_as_it_was(browser, catalogue):
    send(browser, "scheduling_technique_add", **TECHNIQUE)
    technique = Technique.objects.get()
    before = [list(part.values()) for part in (technique.rules, technique.checks, technique.sets)]
    page = browser.get(reverse("admin:scheduling_technique_change", args=[technique.pk]))
    assert "contingency: 2 × stem, size at stem.size, 1 below, 2 above; " in page.text
    form = {}
    for inline in page.context["inline_admin_formsets"]:
        formset = inline.formset
        form[f"{formset.prefix}-TOTAL_FORMS"] = len(formset.forms)
        form[f"{formset.prefix}-INITIAL_FORMS"] = len(formset.forms)
        for one in formset.forms:
            for field in one:
                form[field.html_name] = "" if field.value() is None else field.value()
    assert not send(
        browser, "scheduling_technique_change", technique.pk, **form, code="REVISION-STEM"
    )
    assert before == [
        list(part.values()) for part in (technique.rules, technique.checks, technique.sets)
    ]


def test_a_technique_that_cannot_be_explained_is_refused_with_all_its_faults(browser, catalogue):
    faults = send(
        browser,
        "scheduling_technique_add",
        **TECHNIQUE
        | {
            "sets-0-options_said": "STAND + NONE",
            "rules-0-role": "stam",
            "rules-0-select_said": "offset: from 1 to 2\nsize: sten.size",
            "rules-0-when_said": "approach posterior",
            "rules-1-select_said": "size is 3",
            "checks-1-right_said": "stem.taper + 3",
            "confirmations-0-when_said": "stem.side is left",
        },
    )
    assert faults == [
        "option 1: there is no configuration NONE",
        "the catalogue has no “stam”",
        "offset: is a text, and a text has no rungs; name the values instead",
        "size: sten.size: the catalogue has no implant “sten” that a plan could name",
        "line 1: write a path, “is” and a value: approach is posterior or lateral",
        "line 1: write an attribute, a colon and what it must be: size: stem.size",
        "stem.taper is a text, and only numbers add up",
        "stem.side: no stem in the catalogue has a side",
    ]
    assert not Technique.objects.exists()
