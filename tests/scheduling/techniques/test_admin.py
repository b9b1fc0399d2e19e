"""A technique in the admin: written in words, refused where it cannot be explained."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Site
from scheduling.models import Technique
from tests import factories
from tests.admin_forms import send


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


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
    assert '<datalist id="known-roles"><option value="head"><option value="reamer">' in page.text
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
