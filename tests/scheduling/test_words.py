from __future__ import annotations

from decimal import Decimal

import pytest

from deploy.kit.attributes import Value
from scheduling.coverage.report import Report
from scheduling.coverage.values import Case, Component, Priority, Scenario
from scheduling.words import (
    component_in_words,
    fact_in_words,
    item_in_words,
    label_in_words,
    planned_in_words,
    thing_in_words,
)


def test_an_item_is_said_so_that_it_cannot_be_misread(
    two_cases: tuple[Scenario, Report],
) -> None:
    scenario, _ = two_cases
    assert item_in_words(scenario, "STEM-12-HIGH-225") == "stem A, size 12, HIGH offset, 225 mm"
    assert item_in_words(scenario, "REAM-14") == "reamer A, Ø 14 mm"
    assert item_in_words(scenario, "CABLE") == "cable"
    assert item_in_words(scenario, "NOT-IN-CATALOGUE") == "NOT-IN-CATALOGUE"


def test_heads_that_differ_in_the_taper_only_do_not_read_the_same() -> None:
    one, other = ({"diameter": 36, "neck_length": 0, "taper": taper} for taper in ("T1", "T2"))
    assert thing_in_words("head", one) == "head, taper T1, Ø 36 mm, neck +0 mm"
    assert thing_in_words("head", other) == "head, taper T2, Ø 36 mm, neck +0 mm"


def test_several_pieces_say_how_many() -> None:
    assert component_in_words("cable", Component({}, quantity=3)) == "3 × cable"


def test_a_case_is_called_by_its_sized_component(two_cases: tuple[Scenario, Report]) -> None:
    scenario, _ = two_cases
    case = scenario.cases["A"]
    assert planned_in_words(case) == "stem A, size 12, STANDARD offset, 225 mm"
    head = Case("X", "T", case.start, 60, Priority.ELECTIVE, components={"head": Component({})})
    assert planned_in_words(head) == "head"
    assert planned_in_words(Case("X", "T", case.start, 60)) == ""


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "yes"),
        (False, "no"),
        (-4, "−4"),
        (Decimal("3.50"), "3.5"),
        ("posterior", "posterior"),
    ],
)
def test_facts_in_words(value: Value | bool, words: str) -> None:
    assert fact_in_words(value) == words


def test_names_of_facts_in_words() -> None:
    assert label_in_words("bone_diameter_mm") == "bone diameter (mm)"
    assert label_in_words("stem_out") == "stem out"
