"""A technique against a catalogue: what the format allows and nobody meant."""

from __future__ import annotations

import json
from typing import Any

import pytest

from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.technique_sense import technique_faults
from tests.coverage_engine.test_scenario_json import RECORDED, broken, small


def faults_of(data: Any) -> list[str]:
    scenario = read_scenario(json.dumps(data))
    return technique_faults(
        scenario.techniques["REV"], scenario.instruments.values(), scenario.implants.values()
    )


@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_the_recorded_techniques_make_sense(path: Any) -> None:
    scenario = read_scenario(path.read_text("utf-8"))
    for technique in scenario.techniques.values():
        assert (
            technique_faults(technique, scenario.instruments.values(), scenario.implants.values())
            == []
        )


def test_the_small_technique_makes_sense() -> None:
    assert faults_of(small()) == []


@pytest.mark.parametrize(
    ("place", "value", "fault"),
    [
        (
            "techniques|0|rules|1|role",
            "stemm",
            'rules[1].role: no instrument or implant has the role "stemm"',
        ),
        (
            "techniques|0|rules|0|select|diameter|ladder|to|plan",
            "stem.sise",
            "rules[0].select.diameter: \"stem.sise\" leads to nothing: no attribute 'sise' (known: "
            "ref, system, size, offset, diameter, length, neck_length, taper, inner_diameter, "
            "group, material, side, distal_diameter, seat_offset)",
        ),
        (
            "techniques|0|rules|0|select|diameter|ladder|to|plan",
            "head.size",
            'rules[0].select.diameter: "head.size" leads to nothing: '
            'no implant has the role "head"',
        ),
        (
            "techniques|0|rules|1|when|stem.taper",
            "x",
            'rules[1].when["stem.taper"]: "stem.taper" leads to nothing: no stem states it',
        ),
        (
            "techniques|0|rules|1|select",
            {"ref": {"ladder": {"from": 1}}},
            "rules[1].select.ref: a ladder needs numbers, and ref of stem is a text",
        ),
        (
            "techniques|0|rules|1|select",
            {"size": {"ladder": {"at": {"plan": "stem.ref"}}}},
            'rules[1].select.size: "stem.ref" is a text, and a number is needed',
        ),
        (
            "techniques|0|rules|1|select",
            {"group": "A"},
            "rules[1].select.group: no stem states it",
        ),
        ("techniques|0|rules|1|select", {"size": [12, 99]}, "rules[1].select.size: no stem has 99"),
        (
            "techniques|0|checks|1|right|0",
            {"times": 2, "of": "stem.ref"},
            'checks[1].right[0]: "stem.ref" is a text, and a number is needed',
        ),
        (
            "techniques|0|checks|0|left",
            "head.size",
            'checks[0].left: "head.size" leads to nothing: no implant has the role "head"',
        ),
    ],
)
def test_what_nobody_meant_is_named(place: str, value: Any, fault: str) -> None:
    assert faults_of(broken(place, value)) == [fault]
