from __future__ import annotations

from scheduling.coverage.values import Technique
from scheduling.plans.asked import FactKind, asked_of_plan
from tests.scheduling.plans.house import technique


def test_the_components_that_its_rules_and_checks_name():
    assert asked_of_plan(technique()).roles == ("stem", "head")


def test_the_facts_with_what_may_be_answered_figures_last():
    facts = {fact.name: (fact.kind, fact.values) for fact in asked_of_plan(technique()).facts}
    assert facts == {
        "stem_out": (FactKind.CHOICE, ("well fixed",)),
        "approach": (FactKind.CHOICE, ("osteotomy", "lateral")),
        "graft": (FactKind.YES_NO, (True,)),
        "cup": (FactKind.CHOICE, ("retained",)),
        "liner_diameter": (FactKind.NUMBER, ()),
        "osteotomy_mm": (FactKind.NUMBER, ()),
        "bone_diameter_mm": (FactKind.NUMBER, ()),
    }
    assert list(facts)[-3:] == ["liner_diameter", "osteotomy_mm", "bone_diameter_mm"]


def test_a_figure_matters_only_under_the_condition_of_its_check():
    found = {fact.name: fact.when for fact in asked_of_plan(technique()).facts}
    assert found["osteotomy_mm"] == ({"approach": ("osteotomy",)},)
    assert found["approach"] == ({},)


def test_a_technique_that_asks_for_nothing():
    assert asked_of_plan(Technique("T")).roles == ()
    assert asked_of_plan(Technique("T")).facts == ()
