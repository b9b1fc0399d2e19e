"""From a plan to needs: every rule of what a technique may ask for, one test a rule.

Ladders have a file of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest

from deploy.kit.attributes import Value
from scheduling.coverage.catalogue import Catalogue
from scheduling.coverage.needs import Techniques, needs_of
from scheduling.coverage.values import (
    Component,
    FromPlan,
    Need,
    OneOf,
    Rule,
    Technique,
)
from tests.coverage_engine.build import (
    case,
    instrument,
    ladder,
    opens,
    rule,
    scenario,
    technique,
)
from tests.coverage_engine.small_catalogue import (
    HEADS,
    PLAN,
    REAMERS,
    STEMS,
    needs,
)

PLANNED, CONTINGENCY, SPARE = Need.PLANNED, Need.CONTINGENCY, Need.SPARE


def reamers(selection: Any, **facts: Any) -> list[str]:
    """The reamers that one planned rule takes, by its selection on the diameter."""
    found = needs(technique(rule("ream", PLANNED, diameter=selection)), **facts)
    return [ref.removeprefix("REAM-") for ref in found.instruments[PLANNED]]


# -- values ---------------------------------------------------------------------------------------


def test_a_value_a_list_and_a_path() -> None:
    assert reamers(14) == ["14"]
    assert reamers(OneOf((9, 14, 99))) == ["9", "14"]
    assert reamers(FromPlan("stem.size")) == ["12"]
    assert reamers(FromPlan("start_with"), start_with=9) == ["9"]


def test_all_selections_must_hold() -> None:
    of_b = [instrument("REAM-12B", diameter=12, system="B")]
    found = needs(technique(rule("ream", PLANNED, diameter=12, system="B")), *of_b)
    assert set(found.instruments[PLANNED]) == {"REAM-12B"}


def test_an_item_without_the_attribute_is_not_selected() -> None:
    plain = instrument("REAM-PLAIN")
    everything = needs(technique(rule("ream", PLANNED)), plain)
    assert "REAM-PLAIN" in everything.instruments[PLANNED]
    for selection in (ladder(), OneOf((12,))):
        found = needs(technique(rule("ream", PLANNED, diameter=selection)), plain)
        assert "REAM-PLAIN" not in found.instruments[PLANNED]


def test_the_reference_counts_as_an_attribute() -> None:
    found = needs(
        technique(
            rule("ream", PLANNED, ref="REAM-9"), rule("stem", CONTINGENCY, ref=FromPlan("stem.ref"))
        )
    )
    assert found.instruments[PLANNED] == {"REAM-9": 1}
    assert found.implants[CONTINGENCY] == {}  # it is planned already


def test_numbers_are_equal_however_they_are_written_and_never_equal_to_a_yes() -> None:
    peg = instrument("PEG-1", size=1)
    assert needs(technique(rule("peg", PLANNED, size=Decimal("1.0"))), peg).instruments[PLANNED]
    assert not needs(
        technique(rule("peg", PLANNED, size=FromPlan("cemented"))), peg, cemented=True
    ).instruments[PLANNED]


def test_a_rule_is_of_one_role() -> None:
    broach = instrument("BROACH-12", diameter=12)
    found = needs(technique(rule("broach", PLANNED, diameter=12)), broach)
    assert found.instruments[PLANNED] == {"BROACH-12": 1}


# -- components -----------------------------------------------------------------------------------


def test_each_component_is_a_planned_need() -> None:
    plan: Mapping[str, Mapping[str, Value] | Component] = {
        "stem": {"size": 12},
        "head": Component({"diameter": 32}, quantity=2),
    }
    found = needs(technique(), plan=plan)
    assert found.implants[PLANNED] == {"STEM-12": 1, "HEAD-32": 2}
    assert found.planned_components == {"stem": "STEM-12", "head": "HEAD-32"}
    assert not found.faults


@pytest.mark.parametrize(
    ("component", "fault"),
    [({"size": 13}, "stem: not in catalogue"), ({"offset": "standard"}, "stem: ambiguous")],
    ids=["none", "several"],
)
def test_a_component_matches_exactly_one(component: dict[str, Value], fault: str) -> None:
    found = needs(technique(rule("ream", PLANNED, diameter=9)), plan={"stem": component})
    assert found.faults == (fault,)
    assert found.implants[PLANNED] == {}
    assert found.instruments[PLANNED] == {"REAM-9": 1}  # its other needs stand


def test_a_component_is_an_implant_not_an_instrument_of_the_same_role() -> None:
    trial = instrument("STEM-13", size=13)
    plan = {"stem": {"size": 13}, "head": {"diameter": 28}}
    assert needs(technique(), trial, plan=plan).faults == ("stem: not in catalogue",)


def test_what_refers_to_a_component_with_a_fault_selects_nothing_and_asks_nothing() -> None:
    asked = technique(
        rule("ream", CONTINGENCY, diameter=ladder(on=FromPlan("stem.size"))),
        rule("head", CONTINGENCY, when={"stem.offset": ("standard",)}),
    )
    found = needs(asked, plan={"stem": {"size": 13}})
    assert found.questions == ()
    assert not found.instruments[CONTINGENCY]
    assert not found.implants[CONTINGENCY]


# -- silence is not a no --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("selection", "path"),
    [
        (FromPlan("bow"), "bow"),  # a fact that is not stated
        (ladder(on=FromPlan("bow")), "bow"),
        (ladder(9, FromPlan("head.diameter")), "head.diameter"),  # no such component
        (FromPlan("stem.distal_diameter"), "stem.distal_diameter"),  # an item without it
    ],
    ids=str,
)
def test_what_the_plan_does_not_state_is_an_open_question(selection: Any, path: str) -> None:
    found = needs(technique(rule("ream", CONTINGENCY, diameter=selection)))
    assert found.questions == (f"not stated: {path}",)
    assert not found.instruments[CONTINGENCY]
    assert not found.faults


def test_a_condition_on_what_is_not_stated_does_not_hold_and_is_a_question() -> None:
    found = needs(technique(rule("ream", PLANNED, when={"cemented": (False,)})))
    assert found.questions == ("not stated: cemented",)
    assert not found.instruments[PLANNED]
    assert not found.faults  # a rule that does not hold asks for nothing


def test_every_silence_is_asked_once_and_in_order() -> None:
    asked = technique(
        rule("ream", CONTINGENCY, diameter=FromPlan("z"), size=FromPlan("a")),
        rule("ream", CONTINGENCY, when={"z": (1,), "b": (2,)}),
    )
    assert needs(asked).questions == ("not stated: a", "not stated: b", "not stated: z")


@pytest.mark.parametrize(
    ("stated", "holds"), [("posterior", True), ("lateral", True), ("anterior", False)]
)
def test_a_condition_holds_with_one_of_its_values(stated: str, holds: bool) -> None:
    asked = technique(rule("ream", CONTINGENCY, when={"approach": ("posterior", "lateral")}))
    found = needs(asked, approach=stated)
    assert bool(found.instruments[CONTINGENCY]) is holds
    assert found.questions == ()


def test_all_paths_of_a_condition_must_hold() -> None:
    asked = technique(rule("ream", CONTINGENCY, when={"stem.size": (12,), "cemented": (False,)}))
    assert needs(asked, cemented=False).instruments[CONTINGENCY]
    assert not needs(asked, cemented=True).instruments[CONTINGENCY]


def test_yes_is_not_one() -> None:
    asked = technique(rule("ream", CONTINGENCY, when={"cemented": (1,)}))
    assert not needs(asked, cemented=True).instruments[CONTINGENCY]


# -- what a technique cannot have -----------------------------------------------------------------


def test_a_planned_rule_that_selects_nothing_is_a_fault() -> None:
    fault = "ream: technique asks for one, catalogue holds none"
    assert needs(technique(rule("ream", PLANNED, diameter=99))).faults == (fault,)
    assert needs(technique(rule("ream", CONTINGENCY, diameter=99))).faults == ()


def test_and_so_is_one_that_selects_nothing_because_the_plan_is_silent() -> None:
    found = needs(technique(rule("ream", PLANNED, diameter=FromPlan("bow"))))
    assert found.faults == ("ream: technique asks for one, catalogue holds none",)
    assert found.questions == ("not stated: bow",)


def test_a_case_that_asks_for_nothing_has_a_fault() -> None:
    contingency_only = technique(rule("stem", CONTINGENCY), rule("ream", CONTINGENCY))
    assert needs(contingency_only, plan={}).faults == ("nothing is asked for",)
    assert needs(technique(), plan={}).faults == ("nothing is asked for",)


@pytest.mark.parametrize(
    "something",
    [technique(rule("ream", PLANNED, diameter=9)), technique(sets=opens("BASE"))],
    ids=["a planned instrument", "a set"],
)
def test_a_planned_line_or_a_set_is_something(something: Technique) -> None:
    assert needs(something, plan={}).faults == ()


def test_faults_are_sorted_and_said_once() -> None:
    asked = technique(rule("ream", PLANNED, diameter=98), rule("ream", PLANNED, diameter=99))
    assert needs(asked, plan={"stem": {"size": 1}, "head": {"diameter": 1}}).faults == (
        "head: not in catalogue",
        "nothing is asked for",
        "ream: technique asks for one, catalogue holds none",
        "stem: not in catalogue",
    )


# -- merging --------------------------------------------------------------------------------------


def stems(level: Need, *rules: Rule) -> Mapping[str, int]:
    return needs(technique(*rules)).implants[level]


def test_planned_implants_add_up_over_rules_and_the_plan() -> None:
    assert stems(PLANNED, rule("stem", PLANNED, size=12)) == {"STEM-12": 2}
    assert stems(
        PLANNED, rule("stem", PLANNED, size=12, quantity=2), rule("stem", PLANNED, size=12)
    ) == {"STEM-12": 4}


def test_everything_else_takes_the_largest_quantity() -> None:
    twice = (rule("head", CONTINGENCY, quantity=3), rule("head", CONTINGENCY, quantity=2))
    assert stems(CONTINGENCY, *twice) == {"HEAD-28": 3, "HEAD-32": 3}
    spares = (rule("stem", SPARE, size=12), rule("stem", SPARE, size=12, quantity=2))
    assert stems(SPARE, *spares) == {"STEM-12": 2}
    reams = technique(
        rule("ream", PLANNED, diameter=9, quantity=2), rule("ream", PLANNED, diameter=ladder(9, 10))
    )
    assert needs(reams).instruments[PLANNED] == {"REAM-9": 2, "REAM-10": 1}


def test_a_contingency_keeps_only_what_exceeds_the_planned_quantity() -> None:
    assert stems(CONTINGENCY, rule("stem", CONTINGENCY, size=12, quantity=3)) == {"STEM-12": 2}
    assert stems(CONTINGENCY, rule("stem", CONTINGENCY, size=ladder(on=12, above=1))) == {
        "STEM-14": 1
    }


def test_the_excess_counts_all_planned_rules_wherever_they_stand() -> None:
    assert (
        stems(
            CONTINGENCY,
            rule("stem", CONTINGENCY, size=12, quantity=2),
            rule("stem", PLANNED, size=12),
        )
        == {}
    )


def test_instruments_have_an_excess_too() -> None:
    asked = technique(
        rule("ream", PLANNED, diameter=9), rule("ream", CONTINGENCY, diameter=9, quantity=2)
    )
    found = needs(asked)
    assert found.instruments[PLANNED] == {"REAM-9": 1}
    assert found.instruments[CONTINGENCY] == {"REAM-9": 1}


def test_a_spare_is_for_implants_only_and_needs_no_planned_line() -> None:
    found = needs(technique(rule("head", SPARE, diameter=28), rule("ream", SPARE, diameter=9)))
    assert found.implants[SPARE] == {"HEAD-28": 1}
    assert all(not needed for needed in found.instruments.values())


def test_a_spare_of_what_is_planned_is_a_second_one() -> None:
    found = needs(technique(rule("stem", SPARE, size=FromPlan("stem.size"))))
    assert found.implants[PLANNED] == {"STEM-12": 1}
    assert found.implants[SPARE] == {"STEM-12": 1}


# -- order ----------------------------------------------------------------------------------------


def test_the_order_of_rules_and_of_the_catalogue_does_not_matter() -> None:
    rules = [
        rule("stem", CONTINGENCY, size=ladder(on=12, below=1), quantity=2),
        rule("stem", PLANNED, size=11),
        rule("ream", PLANNED, diameter=ladder(None, 12)),
        rule("ream", CONTINGENCY, diameter=ladder(on=12, above=1), quantity=2),
    ]
    one, other = needs(technique(*rules)), needs(technique(*reversed(rules)))
    assert one.implants == other.implants
    assert one.instruments == other.instruments
    booked = case("C1", plan=PLAN)
    turned = scenario(*reversed(REAMERS), *reversed(HEADS), *reversed(STEMS))
    third = needs_of(booked, technique(*rules), Techniques(Catalogue(turned)))
    assert one.implants == third.implants
    assert one.instruments == third.instruments
