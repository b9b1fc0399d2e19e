"""Scenario files: what is read, what is refused and where, and that writing loses nothing."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario, write_scenario
from scheduling.coverage.values import (
    Case,
    Check,
    Component,
    FromPlan,
    Ladder,
    Need,
    OneOf,
    Priority,
    Scenario,
    Times,
)
from tests.coverage_engine import random_scenarios

RECORDED = sorted(
    path
    for path in (Path(__file__).parents[2] / "fixtures" / "scenarios").glob("*.json")
    if not path.name.endswith(".expected.json")
)


def small() -> Any:
    """One of everything, with nothing wrong."""
    return {
        "site": {
            "name": "Ottermere General",
            "timezone": "Europe/London",
            "now": "2027-03-01T07:00",
            "order_cut_off": "15:30",
            "closed_dates": ["2027-03-26"],
            "sterile_services": {"mon": ["06:00", "24:00"]},
        },
        "instruments": [
            {"ref": "REAM-12", "role": "reamer", "diameter": 12},
            {"ref": "HNDL", "role": "broach handle"},
        ],
        "implants": [
            {
                "ref": "STEM-12",
                "role": "stem",
                "size": 12,
                "length": 225.5,
                "gtin": "02345673",
                "lead_days": 2,
                "replaced_on_use": True,
            }
        ],
        "configurations": [
            {
                "code": "BASE",
                "kind": "base",
                "contents": {"REAM-12": 2, "HNDL": 1},
                "turnaround_minutes": 360,
                "fast_track_minutes": 240,
            },
            {
                "code": "PACK",
                "kind": "supplementary",
                "contents": {"REAM-12": 1},
                "turnaround_minutes": 300,
            },
        ],
        "trays": [
            {"code": "BASE/1", "configuration": "BASE", "ready": "2027-02-27T12:00"},
            {"code": "BASE/2", "configuration": "BASE", "arrives": "2027-03-02T09:00"},
            {
                "code": "BASE/3",
                "configuration": "BASE",
                "withdrawn": True,
                "missing": {"REAM-12": 2},
                "note": "bent\nhandle",
            },
        ],
        "shelf": [
            {"unit": "U1", "implant": "STEM-12", "lot": "L1", "expiry": "2028-02"},
            {"unit": "U2", "implant": "STEM-12", "expiry": None, "hold": "recalled"},
        ],
        "techniques": [
            {
                "code": "REV",
                "sets": [{"purpose": "femoral", "options": [["BASE"]], "when": {"a": ["x", True]}}],
                "rules": [
                    {
                        "role": "reamer",
                        "need": "planned",
                        "select": {
                            "diameter": {"ladder": {"from": 9, "to": {"plan": "stem.size"}}},
                            "ref": ["REAM-12"],
                        },
                    },
                    {"role": "stem", "need": "spare", "quantity": 2, "when": {"a": "x"}},
                ],
                "checks": [
                    {"code": "same", "kind": "equal", "left": "stem.size", "right": "b"},
                    {
                        "code": "long enough",
                        "kind": "at least",
                        "left": ["stem.length", 3],
                        "right": [{"times": 2.5, "of": "bone_mm"}],
                    },
                ],
                "confirmations": [{"code": "seen on film"}],
            }
        ],
        "cases": [
            {
                "ref": "C1",
                "technique": "REV",
                "start": "2027-03-02T08:30",
                "minutes": 180,
                "priority": "urgent",
                "side": "left",
                "components": {"stem": {"size": 12, "quantity": 2}},
                "facts": {"a": "x", "b": 12, "seen": True},
                "confirmed": ["seen on film"],
                "reserved_trays": ["BASE/1"],
                "reserved_units": ["U1"],
            }
        ],
    }


def read(data: Any) -> Scenario:
    return read_scenario(json.dumps(data))


def faults_of(data: Any) -> list[str]:
    with pytest.raises(ScenarioFaults) as refused:
        read_scenario(data if isinstance(data, str) else json.dumps(data))
    return refused.value.faults


def broken(place: str, value: Any) -> Any:
    """The small scenario with one value put at a place, `cases|0|start`; `...` takes it away."""
    data = small()
    *way, last = [int(step) if step.isdigit() else step for step in place.split("|")]
    holder = data
    for step in way:
        holder = holder[step]
    if value is ...:
        del holder[last]
    elif isinstance(holder, list) and last == len(holder):
        holder.append(value)
    else:
        holder[last] = value
    return data


# -- what is read -----------------------------------------------------------------------------


def test_times_are_local_to_the_site_and_kept_in_utc() -> None:
    data = broken("cases|0|start", "2027-03-29T08:30")  # British Summer Time since the day before
    assert read(data).cases["C1"].start == datetime(2027, 3, 29, 7, 30, tzinfo=UTC)
    assert read(data).site.now == datetime(2027, 3, 1, 7, 0, tzinfo=UTC)


def test_a_time_that_occurs_twice_is_its_first_occurrence() -> None:
    data = broken("cases|0|start", "2027-10-31T01:30")
    assert read(data).cases["C1"].start == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)


def test_a_time_that_the_clocks_skip_is_read_on_the_clock_before_the_change() -> None:
    data = broken("cases|0|start", "2027-03-28T01:30")
    scenario = read(data)
    assert scenario.cases["C1"].start == datetime(2027, 3, 28, 1, 30, tzinfo=UTC)
    assert '"start": "2027-03-28T02:30"' in write_scenario(scenario)


def test_a_month_means_its_last_day_and_null_means_that_it_does_not_expire() -> None:
    shelf = read(small()).shelf
    assert shelf["U1"].expiry == date(2028, 2, 29)
    assert shelf["U2"].expiry is None


def test_numbers_with_decimals_are_exact() -> None:
    assert read(small()).implants["STEM-12"].attributes["length"] == Decimal("225.5")


def test_a_gtin_is_kept_as_labels_carry_it() -> None:
    assert read(small()).implants["STEM-12"].gtin == "00000002345673"


def test_what_is_left_out_has_the_formats_defaults() -> None:
    scenario = read({"site": {"now": "2027-03-01T07:00"}})
    site = scenario.site
    assert (site.timezone, site.needed_before_minutes, site.out_of_theatre_minutes) == (
        "UTC",
        60,
        15,
    )
    assert (site.shelf_return_minutes, site.loan_check_in_minutes) == (60, 120)
    assert (site.order_cut_off_minute, site.delivery_minute) == (960, 720)
    assert site.opening == {}
    assert scenario.cases == {}
    data = small()
    for key in ("priority", "side", "components", "facts", "confirmed"):
        del data["cases"][0][key]
    del data["cases"][0]["reserved_trays"], data["cases"][0]["reserved_units"]
    assert read(data).cases["C1"] == Case(
        ref="C1",
        technique="REV",
        start=datetime(2027, 3, 2, 8, 30, tzinfo=UTC),
        minutes=180,
        priority=Priority.ELECTIVE,
    )


def test_a_technique_is_read_part_by_part() -> None:
    technique = read(small()).techniques["REV"]
    assert technique.sets[0].when == {"a": ("x", True)}
    reamers, spare = technique.rules
    assert reamers.select == {
        "diameter": Ladder(start=9, end=FromPlan("stem.size")),
        "ref": OneOf(("REAM-12",)),
    }
    assert (spare.need, spare.quantity, spare.select) == (Need.SPARE, 2, {})
    assert technique.checks == (
        Check("same", "equal", (FromPlan("stem.size"),), (FromPlan("b"),)),
        Check(
            "long enough",
            "at least",
            (FromPlan("stem.length"), 3),
            (Times(Decimal("2.5"), "bone_mm"),),
        ),
    )


@pytest.mark.parametrize(
    ("written", "read_as"),
    [
        ({"ladder": {"at": 9, "above": 2}}, Ladder(9, 9, 0, 2)),
        ({"ladder": {"to": 9, "below": 1}}, Ladder(None, 9, 1, 0)),
        ({"ladder": {}}, Ladder()),
        ({"from": 9, "above": 1}, Ladder(9, None, 0, 1)),
    ],
)
def test_ladders(written: Any, read_as: Ladder) -> None:
    data = broken("techniques|0|rules|0|select|diameter", written)
    assert read(data).techniques["REV"].rules[0].select["diameter"] == read_as


def test_a_component_may_be_named_by_its_reference() -> None:
    data = broken("cases|0|components", {"stem": {"ref": "STEM-12"}})
    assert read(data).cases["C1"].components == {"stem": Component({"ref": "STEM-12"})}


def test_two_cases_may_reserve_the_same_things() -> None:
    data = broken("cases|1", {**small()["cases"][0], "ref": "C2"})
    assert read(data).cases["C2"].reserved_units == ("U1",)


# -- what is refused --------------------------------------------------------------------------

ONE_FAULT = [
    # the format's own example
    ("cases|0|start", "8.30", 'cases[0].start: not a time: "8.30"'),
    # times, dates, hours
    ("cases|0|start", "2027-03-02T08:30:00", 'cases[0].start: not a time: "2027-03-02T08:30:00"'),
    ("cases|0|start", "2027-02-29T08:30", 'cases[0].start: not a time: "2027-02-29T08:30"'),
    ("cases|0|start", "2027-03-02T24:00", 'cases[0].start: not a time: "2027-03-02T24:00"'),
    ("cases|0|start", "२०२७-03-02T08:30", 'cases[0].start: not a time: "२०२७-03-02T08:30"'),
    ("cases|0|start", None, "cases[0].start: not a time: null"),
    ("cases|0|start", ..., "cases[0].start: missing"),
    ("trays|0|ready", "now", 'trays[0].ready: not a time: "now"'),
    ("trays|1|arrives", 7, "trays[1].arrives: not a time: 7"),
    ("trays|0|sterile_until", "2027-03-02", 'trays[0].sterile_until: not a time: "2027-03-02"'),
    ("site|now", ..., "site.now: missing"),
    ("site|now", "0001-01-01T00:00Z", 'site.now: not a time: "0001-01-01T00:00Z"'),
    ("site|timezone", "Ottermere", 'site.timezone: not an IANA time zone: "Ottermere"'),
    ("site|timezone", "Europe", 'site.timezone: not an IANA time zone: "Europe"'),
    ("site|timezone", "../UTC", 'site.timezone: not an IANA time zone: "../UTC"'),
    ("site|timezone", 1, "site.timezone: not an IANA time zone: 1"),
    ("site|order_cut_off", "4pm", 'site.order_cut_off: not a time of day: "4pm" (HH:MM)'),
    ("site|order_cut_off", "24:00", 'site.order_cut_off: not a time of day: "24:00" (HH:MM)'),
    ("site|delivery_time", 12, "site.delivery_time: not a time of day: 12 (HH:MM)"),
    (
        "site|closed_dates|0",
        "26 March",
        'site.closed_dates[0]: not a date: "26 March" (YYYY-MM-DD)',
    ),
    ("site|closed_dates|1", "2027-03-26", 'site.closed_dates[1]: given twice: "2027-03-26"'),
    (
        "site|sterile_services|mon",
        ["22:00", "06:00"],
        'site.sterile_services.mon: opens at or after it closes: ["22:00", "06:00"]',
    ),
    (
        "site|sterile_services|mon",
        ["06:00"],
        'site.sterile_services.mon: not an opening and a closing time: ["06:00"]',
    ),
    (
        "site|sterile_services|mon",
        ["06:00", "24:01"],
        'site.sterile_services.mon[1]: not a time of day: "24:01" (HH:MM)',
    ),
    (
        "site|sterile_services|tue",
        None,
        "site.sterile_services.tue: not an opening and a closing time: null",
    ),
    (
        "site|sterile_services|monday",
        ["06:00", "22:00"],
        "site.sterile_services.monday: unknown key (known: mon, tue, wed, thu, fri, sat, sun)",
    ),
    ("site|needed_before_minutes", -1, "site.needed_before_minutes: less than 0: -1"),
    ("site|needed_before_minutes", True, "site.needed_before_minutes: not a number: true"),
    ("site|loan_check_in_minutes", 1.5, "site.loan_check_in_minutes: not a whole number: 1.5"),
    ("shelf|0|expiry", ..., "shelf[0].expiry: missing"),
    (
        "shelf|0|expiry",
        "2028-13",
        'shelf[0].expiry: not a date: "2028-13" (YYYY-MM-DD, YYYY-MM or null)',
    ),
    ("shelf|0|expiry", "", 'shelf[0].expiry: not a date: "" (YYYY-MM-DD, YYYY-MM or null)'),
    # codes
    ("cases|0|technique", "PRIM", 'cases[0].technique: no such technique: "PRIM"'),
    (
        "cases|0|confirmed|0",
        "no",
        'cases[0].confirmed[0]: no such confirmation of its technique: "no"',
    ),
    ("cases|0|reserved_trays|0", "B/9", 'cases[0].reserved_trays[0]: no such tray: "B/9"'),
    ("cases|0|reserved_units|0", "U9", 'cases[0].reserved_units[0]: no such unit: "U9"'),
    ("cases|0|reserved_units|1", "U1", 'cases[0].reserved_units[1]: given twice: "U1"'),
    ("trays|0|configuration", "ADD", 'trays[0].configuration: no such configuration: "ADD"'),
    ("shelf|0|implant", "STEM-9", 'shelf[0].implant: no such implant: "STEM-9"'),
    ("configurations|0|contents|R-9", 1, "configurations[0].contents.R-9: no such instrument"),
    (
        "techniques|0|sets|0|options|0|0",
        "ADD",
        'techniques[0].sets[0].options[0][0]: no such configuration: "ADD"',
    ),
    ("trays|1|code", "BASE/1", 'trays[1].code: given twice: "BASE/1" (first in trays[0])'),
    ("shelf|1|unit", "U1", 'shelf[1].unit: given twice: "U1" (first in shelf[0])'),
    ("cases|1", small()["cases"][0], 'cases[1].ref: given twice: "C1" (first in cases[0])'),
    (
        "instruments|2",
        {"ref": "HNDL", "role": "x"},
        'instruments[2].ref: given twice: "HNDL" (first in instruments[1])',
    ),
    (
        "implants|1",
        {"ref": "HNDL", "role": "x"},
        'implants[1].ref: given twice: "HNDL" (first in instruments[1])',
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
    ("instruments|0|role", "", "instruments[0].role: empty"),
    ("trays|1|code", " BASE/1", 'trays[1].code: begins or ends with a space: " BASE/1"'),
    ("trays|1|code", "BASE\x00", 'trays[1].code: a character that is no text: "BASE\\u0000"'),
    ("trays|1|code", 1, "trays[1].code: not a text: 1"),
    # quantities
    ("cases|0|minutes", 0, "cases[0].minutes: less than 1: 0"),
    ("cases|0|minutes", "180", 'cases[0].minutes: not a number: "180"'),
    ("cases|0|minutes", 10**7 + 1, "cases[0].minutes: more than 10,000,000: 10000001"),
    ("cases|0|components|stem|quantity", 0, "cases[0].components.stem.quantity: less than 1: 0"),
    ("configurations|0|contents|HNDL", 0, "configurations[0].contents.HNDL: less than 1: 0"),
    (
        "configurations|0|turnaround_minutes",
        0,
        "configurations[0].turnaround_minutes: less than 1: 0",
    ),
    (
        "configurations|0|fast_track_minutes",
        361,
        "configurations[0].fast_track_minutes: longer than the turnaround: 361",
    ),
    ("implants|0|lead_days", -1, "implants[0].lead_days: less than 0: -1"),
    ("techniques|0|rules|0|quantity", 0, "techniques[0].rules[0].quantity: less than 1: 0"),
    ("trays|0|missing", {"HNDL": 2}, "trays[0].missing.HNDL: more than BASE holds (1): 2"),
    ("trays|0|missing", {"STEM-12": 1}, "trays[0].missing.STEM-12: BASE does not hold it"),
    ("trays|0|missing", {"HNDL": 0}, "trays[0].missing.HNDL: less than 1: 0"),
    (
        "configurations|1|contents|HNDL",
        1,
        "configurations[1].contents: a supplementary pack holds exactly one instrument",
    ),
    (
        "configurations|1|contents",
        {},
        "configurations[1].contents: a supplementary pack holds exactly one instrument",
    ),
    # one of the three
    ("trays|0|ready", ..., "trays[0]: give exactly one of ready, arrives, withdrawn (none given)"),
    (
        "trays|0|arrives",
        "2027-03-02T09:00",
        "trays[0]: give exactly one of ready, arrives, withdrawn (ready, arrives given)",
    ),
    ("trays|2|withdrawn", False, "trays[2].withdrawn: leave it out, or say true"),
    ("trays|2|withdrawn", "yes", 'trays[2].withdrawn: neither true nor false: "yes"'),
    # choices
    ("cases|0|side", "both", 'cases[0].side: not one of left, right: "both"'),
    (
        "cases|0|priority",
        1,
        "cases[0].priority: not one of immediate, urgent, expedited, elective: 1",
    ),
    ("shelf|0|owner", "lent", 'shelf[0].owner: not one of owned, consignment, loan: "lent"'),
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
    # GTINs: GS1 check digit; 02345673 and 416000336108 are right (GS1 Syntax Dictionary)
    (
        "implants|0|gtin",
        "416000336109",
        'implants[0].gtin: check digit should be 8: "416000336109"',
    ),
    ("implants|0|gtin", "2345673", 'implants[0].gtin: not 8, 12, 13 or 14 digits: "2345673"'),
    ("implants|0|gtin", 2345673, "implants[0].gtin: not 8, 12, 13 or 14 digits: 2345673"),
    # attributes, facts, components
    ("implants|0|size", True, "implants[0].size: not a text or a number: true"),
    ("implants|0|size", [12], "implants[0].size: not a text or a number: [12]"),
    ("implants|0|offset", "", "implants[0].offset: empty: leave it out when it has no value"),
    ("implants|0|length", 0.0000001, 'implants[0].length: more than 6 decimals: "1E-7"'),
    ("cases|0|facts|b", None, "cases[0].facts.b: not a text, a number, true or false: null"),
    ("cases|0|facts|", 1, 'cases[0].facts[""]: empty'),
    ("cases|0|components|stem", 12, "cases[0].components.stem: not an object: 12"),
    ("cases|0|components", [], "cases[0].components: not an object: []"),
    # selections and ladders
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
    # conditions, options, terms
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
    # shapes
    ("site", [], "site: not an object: []"),
    ("site", ..., "site: missing"),
    ("cases", {}, "cases: not a list: {}"),
    ("cases|0", None, "cases[0]: not an object: null"),
    ("cases|0|confirmed", "seen on film", 'cases[0].confirmed: not a list: "seen on film"'),
]


@pytest.mark.parametrize(("place", "value", "fault"), ONE_FAULT)
def test_one_slip_is_one_fault_with_its_place(place: str, value: Any, fault: str) -> None:
    assert faults_of(broken(place, value)) == [fault]


UNKNOWN_KEYS = [
    "case",
    "site|name_of_site",
    "instruments|0|colour",
    "implants|0|gtin14",
    "configurations|0|minutes",
    "trays|0|owner",
    "shelf|0|code",
    "techniques|0|rule",
    "techniques|0|sets|0|option",
    "techniques|0|rules|0|which",
    "techniques|0|rules|0|select|colour",
    "techniques|0|rules|0|select|diameter|ladder|step",
    "techniques|0|rules|0|select|diameter|ladder|to|path",
    "techniques|0|checks|0|term",
    "techniques|0|checks|1|right|0|plus",
    "techniques|0|confirmations|0|text",
    "cases|0|patient",
    "cases|0|components|stem|colour",
]


@pytest.mark.parametrize("place", UNKNOWN_KEYS)
def test_an_unknown_key_is_a_fault_wherever_it_stands(place: str) -> None:
    [fault] = faults_of(broken(place, "x"))
    assert ": unknown key (known: " in fault
    assert fault.split(":")[0].endswith(place.split("|")[-1])


def test_all_faults_are_reported_at_once_in_the_order_of_the_file() -> None:
    data = small()
    data["cases"][0]["start"] = "8.30"
    data["cases"][0]["minutes"] = -5
    data["trays"][1]["configuration"] = "NONE"
    data["colour"] = "red"
    assert [fault.split(":")[0] for fault in faults_of(data)] == [
        "colour",
        "trays[1].configuration",
        "cases[0].start",
        "cases[0].minutes",
    ]


def test_a_key_given_twice_in_one_object_is_a_fault() -> None:
    text = json.dumps(small()).replace('"minutes": 180', '"minutes": 180, "minutes": 90')
    assert faults_of(text) == ["cases[0].minutes: given twice"]


@pytest.mark.parametrize("number", ["NaN", "-Infinity", "1e400000000000000000000", "9" * 5000])
def test_what_is_no_number_is_a_fault_at_its_place(number: str) -> None:
    text = json.dumps(small()).replace('"size": 12', f'"size": {number}', 1)
    [fault] = faults_of(text)
    assert fault.startswith("implants[0].size: not a")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "line 1, column 1: not JSON: Expecting value"),
        ('{"site": {},\n "cases": [}', "line 2, column 12: not JSON: Expecting value"),
        ("[]", "scenario: not an object: []"),
        ("[" * 200_000, "scenario: nested too deeply to be read"),
    ],
)
def test_what_is_no_scenario_at_all(text: str, fault: str) -> None:
    assert faults_of(text) == [fault]


def test_a_time_that_the_calendar_cannot_hold_in_utc_is_no_time() -> None:
    data = small()
    data["site"]["timezone"] = "Asia/Kolkata"
    data["trays"][0]["ready"] = "0001-01-01T00:00"
    assert faults_of(data) == ['trays[0].ready: not a time: "0001-01-01T00:00"']


# -- what is written --------------------------------------------------------------------------


@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_reading_what_was_written_gives_the_recorded_scenario_again(path: Path) -> None:
    scenario = read_scenario(path.read_text("utf-8"))
    written = write_scenario(scenario)
    assert read_scenario(written) == scenario
    assert write_scenario(read_scenario(written)) == written


def test_reading_what_was_written_gives_the_small_scenario_again() -> None:
    scenario = read(small())
    assert read_scenario(write_scenario(scenario)) == scenario


@pytest.mark.parametrize("seed", range(60))
def test_reading_what_was_written_gives_random_scenarios_again(seed: int) -> None:
    scenario = read(random_scenarios.scenario(seed))
    assert read_scenario(write_scenario(scenario)) == scenario


def test_the_order_of_the_lists_does_not_change_what_is_written() -> None:
    data = small()
    for key in ("instruments", "trays", "shelf"):
        data[key].reverse()
    assert write_scenario(read(data)) == write_scenario(read(small()))
