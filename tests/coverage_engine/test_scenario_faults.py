"""Broken scenario files: every fault, with its place and in the file's order."""

from __future__ import annotations

import json
from typing import Any

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.scenario_write import scenario_json
from tests.coverage_engine.small_scenario import broken, faults_of, small

ONE_FAULT = [
    # the format's own example
    ("cases|0|start", "8.30", 'cases[0].start: not a time: "8.30" (YYYY-MM-DDTHH:MM)'),
    # times, dates, hours
    (
        "cases|0|start",
        "2027-03-02T08:30:00",
        'cases[0].start: not a time: "2027-03-02T08:30:00" (YYYY-MM-DDTHH:MM)',
    ),
    (
        "cases|0|start",
        "2027-02-29T08:30",
        'cases[0].start: not a time: "2027-02-29T08:30" (YYYY-MM-DDTHH:MM)',
    ),
    (
        "cases|0|start",
        "2027-03-02T24:00",
        'cases[0].start: not a time: "2027-03-02T24:00" (YYYY-MM-DDTHH:MM)',
    ),
    (
        "cases|0|start",
        "२०२७-03-02T08:30",
        'cases[0].start: not a time: "२०२७-03-02T08:30" (YYYY-MM-DDTHH:MM)',
    ),
    (
        "cases|0|start",
        "0207-03-02T08:30",
        'cases[0].start: not in the years 1900 to 9900: "0207-03-02T08:30"',
    ),
    ("cases|0|start", None, "cases[0].start: not a time: null (YYYY-MM-DDTHH:MM)"),
    ("cases|0|start", ..., "cases[0].start: missing"),
    ("trays|0|ready", "now", 'trays[0].ready: not a time: "now" (YYYY-MM-DDTHH:MM)'),
    ("trays|1|arrives", 7, "trays[1].arrives: not a time: 7 (YYYY-MM-DDTHH:MM)"),
    (
        "trays|0|sterile_until",
        "2027-03-02",
        'trays[0].sterile_until: not a time: "2027-03-02" (YYYY-MM-DDTHH:MM)',
    ),
    ("site|now", ..., "site.now: missing"),
    (
        "site|now",
        "0001-01-01T00:00Z",
        'site.now: not a time: "0001-01-01T00:00Z" (YYYY-MM-DDTHH:MM)',
    ),
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
    ("implants|0|supplier", "EAST", 'implants[0].supplier: no such supplier: "EAST"'),
    (
        "suppliers|1|code",
        "NORTH",
        'suppliers[1].code: given twice: "NORTH" (first in suppliers[0])',
    ),
    ("suppliers|1|code", ..., "suppliers[1].code: missing"),
    (
        "suppliers|0|order_cut_off",
        "24:00",
        'suppliers[0].order_cut_off: not a time of day: "24:00" (HH:MM)',
    ),
    (
        "suppliers|0|closed_dates|0",
        "Tuesday",
        'suppliers[0].closed_dates[0]: not a date: "Tuesday" (YYYY-MM-DD)',
    ),
    ("implants|0|lead_days", -1, "implants[0].lead_days: less than 0: -1"),
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


def test_a_time_at_the_end_of_the_calendar_is_far_and_nothing_breaks() -> None:
    data = small()
    data["site"]["timezone"] = "Asia/Kolkata"
    data["trays"][0]["ready"] = "0001-01-01T00:00"
    assert faults_of(data) == [
        'trays[0].ready: not in the years 1900 to 9900: "0001-01-01T00:00"',
    ]


@pytest.mark.parametrize("zone", ["Asia/Kolkata", "America/New_York", "Europe/London"])
@pytest.mark.parametrize(
    ("until", "read_as"),
    [("0001-01-01T00:00", "0001-01-02T00:00"), ("9999-12-31T23:59", "9999-12-30T23:59")],
)
def test_sterile_for_good_or_never_is_decided(zone: str, until: str, read_as: str) -> None:
    data = small()
    data["site"]["timezone"] = zone
    data["trays"][0]["sterile_until"] = until
    scenario = read_scenario(json.dumps(data))
    assert json.dumps(report_to_json(decide(scenario), scenario))
    (tray,) = [one for one in scenario_json(scenario)["trays"] if "sterile_until" in one]
    assert tray["sterile_until"] == read_as
