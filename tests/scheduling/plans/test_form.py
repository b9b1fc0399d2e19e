from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from scheduling.coverage.values import Component
from scheduling.plans.form import OTHER, PlanForm, given_of, plan_form
from tests.scheduling.plans.house import CATALOGUE, technique

STEM = {
    "part:stem:system": "A",
    "part:stem:size": "12",
    "part:stem:offset": "high",
    "part:stem:length": "225",
}
HEAD = {"part:head:diameter": "36", "part:head:neck_length": "-4"}


def form(given: dict[str, str], **more: Any) -> PlanForm:
    return plan_form(technique(), CATALOGUE, given, **more)


def fact(found: PlanForm, name: str):
    return next(one for one in found.facts if one.name == name)


def test_what_was_chosen_becomes_a_plan():
    found = form({**STEM, **HEAD, "fact:approach": "osteotomy", "fact:osteotomy_mm": "120,5"})
    assert found.planned() == {
        "stem": Component({"system": "A", "size": 12, "offset": "high", "length": 225}),
        "head": Component({"diameter": 36, "neck_length": -4}),
    }
    assert found.stated() == {"approach": "osteotomy", "osteotomy_mm": Decimal("120.5")}
    assert (found.faults, found.to_choose) == ((), ())


def test_there_and_back_again_is_the_same_plan():
    found = form({**STEM, **HEAD, "fact:graft": "no", "window:stem.size:above": "4", "note": " n "})
    again = form(given_of(found.planned(), found.stated(), found.changed_windows(), found.note))
    assert again.planned() == found.planned()
    assert again.stated() == found.stated() == {"graft": False}
    assert again.changed_windows() == found.changed_windows() == {"stem.size": (1, 4)}
    assert again.note == found.note == "n"


def test_an_empty_form_plans_nothing_and_says_what_is_open():
    found = form({})
    assert (found.planned(), found.stated(), found.faults) == ({}, {}, ())
    assert found.to_choose[:2] == ("stem: line", "stem: size")


def test_a_figure_that_does_not_matter_is_hidden_and_not_stated():
    found = form({"fact:approach": "lateral", "fact:osteotomy_mm": "120"})
    assert not fact(found, "osteotomy_mm").shown
    assert found.stated() == {"approach": "lateral"}


def test_what_is_not_known_is_not_stated():
    found = form({"fact:stem_out": ""})
    assert "stem_out" not in found.stated()
    assert fact(found, "stem_out").shown


def test_answers_of_the_technique_and_of_earlier_plans_are_offered():
    found = form({}, heard={"stem_out": ["loose", "well fixed"]})
    assert [one.text for one in fact(found, "stem_out").options] == ["well fixed", "loose"]


def test_another_answer_in_own_words():
    found = form({"fact:stem_out": OTHER, "other:stem_out": " fractured "})
    assert found.stated() == {"stem_out": "fractured"}
    assert form({"fact:stem_out": OTHER}).stated() == {}


@pytest.mark.parametrize("text", ["twelve", "1e9", "nan", "12.0001", "1,2,3"])
def test_a_figure_that_is_none_is_a_fault_with_its_place(text):
    found = form({"fact:cup": "retained", "fact:liner_diameter": text})
    assert found.faults == (f"liner diameter: a number, such as 120 or 12.5, not “{text}”",)
    assert "liner_diameter" not in found.stated()


def test_a_fact_that_the_technique_does_not_ask_for_is_kept():
    found = form({"fact:cup_fixation": "press fit", "fact:age_of_stem": "12"})
    assert found.stated() == {"cup_fixation": "press fit", "age_of_stem": 12}


def test_a_component_beyond_the_technique_is_kept_with_its_pieces():
    found = form({"also": "cable"})
    assert [part.role for part in found.components] == ["stem", "head", "cable"]
    found = form({"part:cable:ref": "CABLE", "pieces:cable": "3"})
    assert found.components[-1].quantity == 3
    bad = form({"part:cable:ref": "CABLE", "pieces:cable": "0"})
    assert bad.faults == ("cable: pieces are a whole number from 1 to 20",)


def test_the_other_sides_implants_are_not_offered():
    cup = form({"part:cup:side": "right"}, side="left").components[-1]
    assert [option.text for choice in cup.choices for option in choice.options] == ["CUP-left"]
    assert cup.implant is None


def test_windows_show_the_techniques_own_figures():
    (window,) = form({}).windows
    assert (window.key, window.label, window.below, window.above) == (
        "stem.size",
        "stem, size",
        "1",
        "2",
    )
    assert form({}).changed_windows() == {}
    bad = form({"window:stem.size:below": "99"})
    assert bad.faults == ("stem, size: whole numbers from 0 to 9",)
    assert bad.changed_windows() == {}


def test_confirmations_are_asked_as_things_are_chosen():
    assert form({}).confirmations() == ()
    assert form({"fact:cup": "retained"}).confirmations() == ("cup seen on film",)


def test_a_note_that_is_too_long_is_a_fault():
    assert form({"note": "x" * 2001}).faults == ("notes: 2000 letters at most, not 2001",)
