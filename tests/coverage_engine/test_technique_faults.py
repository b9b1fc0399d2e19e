"""Broken techniques in scenario files: sets, rules, ladders, conditions, checks."""

from __future__ import annotations

from typing import Any

import pytest

from tests.coverage_engine.small_scenario import broken, faults_of, small

ONE_FAULT = [
    (
        "techniques|0|sets|0|options|0|0",
        "ADD",
        'techniques[0].sets[0].options[0][0]: no such configuration: "ADD"',
    ),
    (
        "techniques|1",
        {"code": "REV"},
        'techniques[1].code: given twice: "REV" (first in techniques[0])',
    ),
    ("techniques|0|checks|1|code", "same", 'techniques[0].checks[1].code: given twice: "same"'),
    (
        "techniques|0|sets|1",
        small()["techniques"][0]["sets"][0],
        'techniques[0].sets[1].purpose: given twice: "femoral"',
    ),
    ("techniques|0|rules|0|quantity", 0, "techniques[0].rules[0].quantity: less than 1: 0"),
    (
        "techniques|0|rules|0|need",
        "wanted",
        'techniques[0].rules[0].need: not one of planned, contingency, spare: "wanted"',
    ),
    (
        "techniques|0|checks|0|kind",
        "is",
        'techniques[0].checks[0].kind: not one of equal, at least: "is"',
    ),
    (
        "techniques|0|rules|0|select|diameter|ladder|at",
        9,
        "techniques[0].rules[0].select.diameter.ladder: give either at, or from and to",
    ),
    (
        "techniques|0|rules|0|select|diameter|ladder|above",
        -1,
        "techniques[0].rules[0].select.diameter.ladder.above: less than 0: -1",
    ),
    (
        "techniques|0|rules|0|select|diameter|ladder|from",
        "9",
        'techniques[0].rules[0].select.diameter.ladder.from: not a number: "9"',
    ),
    (
        "techniques|0|rules|0|select|diameter|ladder|to|plan",
        "stem.",
        'techniques[0].rules[0].select.diameter.ladder.to.plan: not a path: "stem."',
    ),
    (
        "techniques|0|rules|0|select|size",
        {"plan": 3},
        "techniques[0].rules[0].select.size.plan: not a text: 3",
    ),
    (
        "techniques|0|rules|0|select|size",
        [],
        "techniques[0].rules[0].select.size: empty: a list holds at least one value",
    ),
    (
        "techniques|0|rules|0|select|size",
        {},
        "techniques[0].rules[0].select.size: neither a value, a list, a plan nor a ladder",
    ),
    (
        "techniques|0|rules|0|select|size",
        None,
        "techniques[0].rules[0].select.size: not a text or a number: null",
    ),
    ("techniques|0|rules|1|when|", "x", 'techniques[0].rules[1].when[""]: not a path: ""'),
    (
        "techniques|0|rules|1|when|a",
        [],
        "techniques[0].rules[1].when.a: empty: a list holds at least one value",
    ),
    (
        "techniques|0|rules|1|when|a",
        {"not": "x"},
        'techniques[0].rules[1].when.a: not a text, a number, true or false: {"not": "x"}',
    ),
    (
        "techniques|0|sets|0|options",
        [],
        "techniques[0].sets[0].options: empty: a set has at least one option",
    ),
    (
        "techniques|0|sets|0|options|0",
        [],
        "techniques[0].sets[0].options[0]: empty: an option names at least one configuration",
    ),
    (
        "techniques|0|sets|0|options|0",
        "BASE",
        'techniques[0].sets[0].options[0]: not a list of configuration codes: "BASE"',
    ),
    (
        "techniques|0|sets|0|options|0|1",
        "PACK",
        "techniques[0].sets[0].options[0][1]: "
        'an option names no supplementary configuration: "PACK"',
    ),
    (
        "techniques|0|sets|0|options|0|1",
        "BASE",
        'techniques[0].sets[0].options[0][1]: given twice: "BASE"',
    ),
    ("techniques|0|checks|0|left", ["a"], 'techniques[0].checks[0].left: not a text: ["a"]'),
    ("techniques|0|checks|1|left", "a", 'techniques[0].checks[1].left: not a list: "a"'),
    ("techniques|0|checks|1|left", ..., "techniques[0].checks[1].left: missing"),
    (
        "techniques|0|checks|1|left",
        [],
        "techniques[0].checks[1].left: empty: a sum has at least one term",
    ),
    (
        "techniques|0|checks|1|right|0",
        {"times": 2},
        "techniques[0].checks[1].right[0].of: missing",
    ),
    (
        "techniques|0|checks|1|right|0",
        True,
        "techniques[0].checks[1].right[0]: neither a number, a path nor a multiple: true",
    ),
]


@pytest.mark.parametrize(("place", "value", "fault"), ONE_FAULT)
def test_one_slip_is_one_fault_with_its_place(place: str, value: Any, fault: str) -> None:
    assert faults_of(broken(place, value)) == [fault]
