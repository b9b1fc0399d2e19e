from __future__ import annotations

from decimal import Decimal

from scheduling.coverage.values import Component
from scheduling.plans.difference import PlanSaid, plan_difference

STEM = {"system": "A", "size": 12, "offset": "standard", "length": 225}
OLD = PlanSaid(
    "Revision",
    {"stem": Component(STEM), "head": Component({"diameter": 36})},
    {"approach": "posterior", "osteotomy_mm": 120},
    {"stem.size": (1, 2)},
)


def test_the_same_plan_has_no_difference():
    assert plan_difference(OLD, OLD) == ()


def test_everything_that_changed_in_words():
    new = PlanSaid(
        "Primary",
        {"stem": Component({**STEM, "offset": "high"}), "cable": Component({"length": 635}, 3)},
        {"approach": "osteotomy", "graft": True},
        {"stem.size": (1, 3)},
        "call the lab",
    )
    assert plan_difference(OLD, new) == (
        "Technique: Primary instead of Revision.",
        "Stem: HIGH offset instead of STANDARD offset.",
        "Head taken out: it was head, Ø 36 mm.",
        "Cable added: 3 × cable, 635 mm.",
        "Approach: osteotomy instead of posterior.",
        "Osteotomy (mm): not stated any more (was 120).",
        "Graft: yes, not stated before.",
        "Window, stem size: 1 below, 3 above.",
        "The notes were changed.",
    )


def test_pieces_and_attributes_that_come_and_go():
    old = PlanSaid("T", {"screw": Component({"length": 25})})
    new = PlanSaid("T", {"screw": Component({"diameter": Decimal("6.5")}, 2)})
    assert plan_difference(old, new) == (
        "Screw: no length instead of 25 mm, Ø 6.5 mm, 2 pieces instead of 1.",
    )


def test_a_window_taken_back():
    assert plan_difference(OLD, PlanSaid("Revision", OLD.components, OLD.facts)) == (
        "Window, stem size: as the technique says again.",
    )


def test_yes_is_not_one():
    old, new = PlanSaid("T", facts={"graft": True}), PlanSaid("T", facts={"graft": 1})
    assert plan_difference(old, new) == ("Graft: 1 instead of yes.",)
