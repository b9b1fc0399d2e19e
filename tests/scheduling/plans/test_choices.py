from __future__ import annotations

import pytest

from scheduling.plans.choices import component_choice, telling
from tests.scheduling.plans.house import CUPS, HEADS, STEMS, implant


def offered(choice) -> dict[str, list[str]]:
    return {one.key: [option.text for option in one.options] for one in choice.choices}


def test_only_what_tells_implants_apart_is_asked():
    assert telling(STEMS) == ("system", "size", "offset", "length")
    assert telling(HEADS) == ("diameter", "neck_length")


def test_each_choice_narrows_those_after_it():
    stem = component_choice("stem", STEMS, {"system": "A", "size": "11"})
    assert offered(stem) == {
        "system": ["A", "B"],
        "size": ["11", "12", "13"],
        "length": ["190", "225"],
    }
    assert stem.attributes == {"system": "A", "size": 11, "offset": "standard"}
    assert stem.implant is None


def test_all_chosen_names_one_implant():
    given = {"system": "A", "size": "12", "offset": "high", "length": "225"}
    stem = component_choice("stem", STEMS, given)
    assert stem.implant is not None
    assert (stem.implant.ref, stem.words) == (
        "A-12-high-225",
        "stem A, size 12, HIGH offset, 225 mm",
    )
    assert stem.attributes == {"system": "A", "size": 12, "offset": "high", "length": 225}


def test_what_this_line_does_not_have_is_not_asked():
    stem = component_choice("stem", STEMS, {"system": "B", "size": "3", "offset": "high"})
    assert list(offered(stem)) == ["system", "size", "offset"]
    assert stem.implant is not None
    assert stem.implant.ref == "B-3-high"


def test_what_does_not_exist_beside_the_choices_before_it_is_dropped_and_said():
    stem = component_choice(
        "stem", STEMS, {"system": "B", "size": "12", "offset": "high", "length": "225"}
    )
    assert stem.dropped == ("size 12",)
    assert stem.attributes == {"system": "B", "offset": "high"}
    assert stem.implant is None


def test_what_never_existed_is_said_as_it_came():
    head = component_choice("head", HEADS, {"diameter": "99"})
    assert head.dropped == ("diameter (mm) 99",)


def test_a_single_line_is_named_all_the_same():
    stems = [one for one in STEMS if one.attributes["system"] == "A"]
    assert offered(component_choice("stem", stems, {}))["system"] == ["A"]


def test_a_component_that_is_named_without_its_only_line_is_chosen():
    stems = [one for one in STEMS if one.attributes["system"] == "A"]
    stem = component_choice("stem", stems, {"size": "12", "offset": "high", "length": "225"})
    assert stem.implant is not None
    assert stem.attributes == {"system": "A", "size": 12, "offset": "high", "length": 225}
    assert component_choice("stem", stems, {}).attributes == {}
    assert component_choice("stem", stems, {"size": " "}).attributes == {}


def test_numbers_stand_in_their_order_and_standard_first():
    head = component_choice("head", HEADS, {"diameter": "36"})
    assert [option.words for option in head.choices[1].options] == ["−4", "0", "4"]
    stem = component_choice("stem", STEMS, {"system": "A", "size": "12"})
    assert [option.words for option in stem.choices[2].options] == ["STANDARD", "HIGH"]


def test_implants_that_differ_in_nothing_are_told_apart_by_ref():
    twins = [implant("ONE", role="wire"), implant("TWO", role="wire")]
    assert telling(twins) == ("ref",)
    chosen = component_choice("wire", twins, {"ref": "TWO"})
    assert chosen.implant is twins[1]


@pytest.mark.parametrize("given", [{}, {"side": ""}, {"side": " "}])
def test_nothing_is_chosen_for_the_surgeon(given):
    cup = component_choice("cup", CUPS, given)
    assert cup.implant is None
    assert cup.attributes == {}


def test_a_role_with_a_single_implant_is_chosen_by_its_ref():
    (cable,) = cables = [implant("CABLE", "cable", length=635)]
    assert component_choice("cable", cables, {}).implant is None
    chosen = component_choice("cable", cables, {"ref": "CABLE"})
    assert (chosen.implant, chosen.attributes) == (cable, {"ref": "CABLE"})
