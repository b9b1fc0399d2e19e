from __future__ import annotations

from decimal import Decimal

import pytest

from scheduling.coverage.values import (
    Check,
    Confirmation,
    FromPlan,
    Ladder,
    Need,
    OneOf,
    Rule,
    SetAsked,
    Technique,
    Times,
)
from scheduling.techniques.catalogue import KnownCatalogue, known_catalogue
from scheduling.techniques.validation import (
    check_faults,
    confirmation_faults,
    rule_faults,
    set_faults,
    technique_faults,
)
from tests import factories

STEM = {
    "ref": {"S12"},
    "size": {12, 13},
    "offset": {"standard", "high"},
    "length": {Decimal("225.5")},
    "taper": {"T1"},
}
KNOWN = KnownCatalogue(
    instruments={"reamer": {"ref": {"R12"}, "diameter": {12}}},
    implants={"stem": STEM, "head": {"ref": {"H"}, "taper": {"T1"}, "diameter": {32, 36}}},
    kinds={"STAND": "stand-alone", "BASE": "base", "ADD": "add-on", "PACK": "supplementary"},
)


def rule(role="stem", need=Need.PLANNED, when=None, **select) -> Rule:
    return Rule(role=role, need=need, select=select, when=when or {})


@pytest.mark.parametrize(
    "sound",
    [
        rule(),
        rule(size=Ladder(9, FromPlan("stem.size"), 1, 2), offset=FromPlan("stem.offset")),
        rule(ref=FromPlan("stem.ref"), need=Need.SPARE),
        rule(offset=OneOf(("high", "extra high"))),
        rule(length=OneOf((Decimal("225.5"),))),
        rule("reamer", diameter=Ladder(FromPlan("a_fact_of_any_name"))),
        rule(when={"approach": ("anything",), "stem.offset": ("high",), "cup": (True,)}),
    ],
)
def test_a_rule_that_can_be_explained(sound):
    assert rule_faults(sound, KNOWN) == []


@pytest.mark.parametrize(
    ("faulty", "faults"),
    [
        (rule("stam"), [("role", "the catalogue has no “stam”")]),
        (rule("reamer", need=Need.SPARE), [("need", "a spare is kept of implants only")]),
        (
            rule(offset=Ladder("standard", "high")),
            [
                (
                    "select",
                    "offset: is a text, and a text has no rungs; name the values instead",
                )
            ],
        ),
        (
            rule(ref=Ladder(1, 2)),
            [("select", "ref: is a text, and a text has no rungs; name the values instead")],
        ),
        (
            rule(size=Ladder("12", FromPlan("stem.offset"))),
            [
                ("select", "size: “12” is a text, and a rung is a number"),
                ("select", "size: stem.offset is a text, this is a number"),
            ],
        ),
        (rule(diameter=OneOf((3,))), [("select", "diameter: no stem in the catalogue has one")]),
        (
            rule(offset=OneOf(("hihg",))),
            [("select", "offset: no stem in the catalogue has hihg (there is high, standard)")],
        ),
        (
            rule(size=FromPlan("sten.size")),
            [
                (
                    "select",
                    "size: sten.size: the catalogue has no implant “sten” that a plan could name",
                )
            ],
        ),
        (
            rule(size=FromPlan("reamer.diameter")),
            [
                (
                    "select",
                    "size: reamer.diameter: the catalogue has no implant “reamer” that a plan "
                    "could name",
                )
            ],
        ),
        (
            rule(size=FromPlan("head.size")),
            [("select", "size: head.size: no head in the catalogue has a size")],
        ),
        (
            rule(when={"stem.offset": ("low",)}),
            [
                (
                    "when",
                    "stem.offset: no stem in the catalogue has low (there is high, standard)",
                )
            ],
        ),
    ],
)
def test_a_rule_that_cannot_be_explained(faulty, faults):
    assert rule_faults(faulty, KNOWN) == faults


def test_an_unknown_attribute_of_a_path_and_of_a_selection():
    faults = rule_faults(rule(sise=FromPlan("stem.sise"), size=FromPlan("stem.sise")), KNOWN)
    assert [fault.partition(" (known")[0] for _, fault in faults] == [
        "sise: no such attribute",
        "size: stem.sise: no such attribute",
    ]


def test_options_of_a_set():
    assert set_faults(SetAsked("femur", (("STAND",), ("BASE", "ADD"))), KNOWN) == []
    assert set_faults(SetAsked("femur", ()), KNOWN) == [
        ("options", "a set has at least one option")
    ]
    assert set_faults(
        SetAsked("femur", (("STAND", "NONE"), ("BASE", "BASE"), ("PACK",))), KNOWN
    ) == [
        ("options", "option 1: there is no configuration NONE"),
        ("options", "option 2: BASE stands in it twice"),
        ("options", "option 3: PACK is a supplementary pack, not a set"),
    ]


def test_checks():
    paths = (FromPlan("head.taper"),), (FromPlan("stem.taper"),)
    assert check_faults(Check("tapers", "equal", *paths), KNOWN) == []
    sums = (FromPlan("stem.length"),), (FromPlan("osteotomy_mm"), Times(2, "bone_mm"), 5)
    assert check_faults(Check("long enough", "at least", *sums), KNOWN) == []


@pytest.mark.parametrize(
    ("faulty", "faults"),
    [
        (
            Check("c", "equal", (FromPlan("head.taper"), 1), (Times(2, "stem.size"),)),
            [
                ("left", "“equal” compares one path with one path"),
                ("right", "“equal” compares one path with one path"),
            ],
        ),
        (
            Check("c", "equal", (FromPlan("head.taper"),), (FromPlan("stem.size"),)),
            [("right", "a number is never equal to a text")],
        ),
        (
            Check("c", "at least", (FromPlan("stem.taper"),), ()),
            [
                ("left", "stem.taper is a text, and only numbers add up"),
                ("right", "a sum has at least one term"),
            ],
        ),
    ],
)
def test_a_check_that_cannot_be_explained(faulty, faults):
    assert check_faults(faulty, KNOWN) == faults


def test_a_condition_of_a_confirmation():
    assert confirmation_faults(Confirmation("film", {"cup": ("retained",)}), KNOWN) == []
    assert confirmation_faults(Confirmation("film", {"cup.size": (1,)}), KNOWN) == [
        ("when", "cup.size: the catalogue has no implant “cup” that a plan could name")
    ]


def test_all_faults_of_a_technique_with_their_places():
    technique = Technique(
        "T",
        sets=(SetAsked("femur", (("NONE",),)),),
        rules=(rule(), rule("stam")),
        confirmations=(Confirmation("film", {"cup.size": (1,)}),),
    )
    assert technique_faults(technique, KNOWN) == [
        "set 1, options: option 1: there is no configuration NONE",
        "rule 2, role: the catalogue has no “stam”",
        "confirmation 1, when: cup.size: the catalogue has no implant “cup” that a plan could name",
    ]


def test_the_catalogue_of_a_site_costs_three_queries(site, stranger, django_assert_num_queries):
    factories.implant(site, size=12, length=225.5)
    factories.implant(stranger.site, size=99)
    factories.instrument(site, diameter=12)
    factories.configuration(site)
    with django_assert_num_queries(3):
        known = known_catalogue(site)
    assert known == KnownCatalogue(
        instruments={"reamer": {"ref": {"REAM-12"}, "diameter": {12}}},
        implants={"stem": {"ref": {"STEM-12"}, "size": {12}, "length": {Decimal("225.5")}}},
        kinds={"BASE": "base"},
    )
