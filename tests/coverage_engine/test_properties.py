"""What holds of every report, whatever the scenario: one test a property, on drawn scenarios.

`COVERAGE_EXAMPLES` in the environment multiplies the number of examples, for a longer run.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from copy import deepcopy
from random import Random
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report, Verdict
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario
from scheduling.coverage.verify import verify
from tests.coverage_engine.claim_results import claim_results
from tests.coverage_engine.oracle import expect
from tests.coverage_engine.oracle.compare import difference, told, without_unheeded
from tests.coverage_engine.random_scenarios import Entry, scenario

TIMES = int(os.environ.get("COVERAGE_EXAMPLES", "1"))

seeds = st.integers(min_value=0, max_value=10**9)
drawn = seeds.map(scenario)


def examples(count: int) -> Any:
    """The same examples at every run: a red build can be repeated, and never comes by chance."""
    return settings(
        max_examples=count * TIMES,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    )


def decided(entry: Entry) -> tuple[Scenario, Report]:
    read = read_scenario(json.dumps(entry))
    return read, decide(read)


def without_reserved_packs(entry: Entry) -> Entry:
    packs = {c["code"] for c in entry["configurations"] if c["kind"] == "supplementary"}
    of_pack = {t["code"] for t in entry["trays"] if t["configuration"] in packs}
    for case in entry["cases"]:
        case["reserved_trays"] = [
            code for code in case.get("reserved_trays", []) if code not in of_pack
        ]
    return entry


# -- 1. More stock, another tray or an earlier arrival never makes the claims worse. -------------


def improvements(entry: Entry) -> list[Entry]:
    """The scenario with one good thing more, in every way that is tried."""
    better: list[Entry] = []

    def tried() -> Entry:
        better.append(deepcopy(entry))
        return better[-1]

    for item in entry["implants"]:
        unit = {"unit": "U-new", "implant": item["ref"], "expiry": "2029-12-31"}
        tried()["shelf"].append(unit)
        tried()["shelf"].append(unit | {"arrives": entry["site"]["now"], "expiry": None})
    for number, unit in enumerate(entry["shelf"]):
        if unit.get("arrives", "") > entry["site"]["now"]:
            tried()["shelf"][number]["arrives"] = entry["site"]["now"]
        if "hold" in unit:
            del tried()["shelf"][number]["hold"]
    for configuration in entry["configurations"]:
        kind = configuration["code"]
        tray = {"code": "new", "configuration": kind, "ready": entry["site"]["now"]}
        tried()["trays"].append(tray)
    for number, tray in enumerate(entry["trays"]):
        for key in ("ready", "arrives"):
            if tray.get(key, "") > entry["site"]["now"]:
                tried()["trays"][number][key] = entry["site"]["now"]
        if "missing" in tray:
            del tried()["trays"][number]["missing"]
        if "sterile_until" in tray:
            del tried()["trays"][number]["sterile_until"]
    return better


@examples(150)
@given(drawn, seeds)
def test_more_never_makes_the_claims_worse(entry: Entry, choice: int) -> None:
    entry = without_reserved_packs(entry)
    before = claim_results(*decided(entry))
    ways = improvements(entry)
    for better in Random(choice).sample(ways, min(3, len(ways))):
        after = claim_results(*decided(better))
        assert all(after[problem] <= results for problem, results in before.items())


# -- 2. The order of the input lists does not matter. --------------------------------------------


def shuffled(value: Any, rng: Random, path: tuple[str, ...] = ()) -> Any:
    """Lists and mappings in another order; but sets, options and sums keep theirs: it is said."""
    if isinstance(value, dict):
        keys = list(value)
        rng.shuffle(keys)
        return {key: shuffled(value[key], rng, (*path, key)) for key in keys}
    if isinstance(value, list):
        if path[0] == "site":
            return value  # hours from, to
        if path[-1] not in ("sets", "options"):
            value = rng.sample(value, len(value))
        return [each if isinstance(each, list) else shuffled(each, rng, path) for each in value]
    return value


@examples(200)
@given(drawn, seeds)
def test_the_order_of_the_lists_does_not_matter(entry: Entry, choice: int) -> None:
    assert decided(shuffled(entry, Random(choice)))[1] == decided(entry)[1]


# -- 3. Two runs give the same bytes. ------------------------------------------------------------

FINGERPRINT = "from tests.coverage_engine.test_properties import fingerprint; print(fingerprint())"


def fingerprint() -> str:
    """A hash of the written reports of some scenarios."""
    digest = hashlib.sha256()
    for seed in range(60):
        read, report = decided(scenario(seed))
        digest.update(json.dumps(report_to_json(report, read)).encode())
    return digest.hexdigest()


def test_two_runs_give_the_same_bytes() -> None:
    """In processes of their own, whose sets and hashes are ordered differently."""
    runs = {
        subprocess.run(
            [sys.executable, "-c", FINGERPRINT],
            env={**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": os.getcwd()},
            check=True,
            capture_output=True,
            text=True,
        ).stdout.strip()
        for hash_seed in ("1", "2")
    }
    assert runs == {fingerprint()}


# -- 4. A missing instrument changes only cases that need it, or could have had that tray. --------


def could_have(entry: Entry, tray: Entry) -> set[str]:
    """The cases that a tray might serve; a pack might serve them all."""
    techniques = {technique["code"]: technique for technique in entry["techniques"]}
    kind = tray["configuration"]
    if kind.startswith("SP-"):
        return {case["ref"] for case in entry["cases"]}
    return {
        case["ref"]
        for case in entry["cases"]
        if any(
            kind in option
            for asked in techniques[case["technique"]]["sets"]
            for option in asked["options"]
        )
    }


def need(report: Report, instrument: str) -> set[str]:
    return {each.case for each in report.cases for line in each.lines if line.item == instrument}


def reached(entry: Entry, refs: set[str]) -> set[str]:
    """The cases that a re-arrangement may reach from these: by trays that either may have.

    Word for word the property is too strong: a case that turns to another option of sets for want
    of the instrument may take a tray from a case that neither needs it nor could have had its tray.
    """
    grown = set(refs)
    for tray in entry["trays"]:
        having = could_have(entry, tray)
        if having & grown:
            grown |= having
    return grown if grown == refs else reached(entry, grown)


@examples(250)
@given(drawn, seeds)
def test_a_missing_instrument_changes_only_whom_it_may(entry: Entry, choice: int) -> None:
    held = [
        (number, ref)
        for number, tray in enumerate(entry["trays"])
        for configuration in entry["configurations"]
        if configuration["code"] == tray["configuration"]
        for ref, count in sorted(configuration["contents"].items())
        if tray.get("missing", {}).get(ref, 0) < count
    ]
    assume(held)
    number, instrument = Random(choice).choice(held)
    worse = deepcopy(entry)
    missing = worse["trays"][number].setdefault("missing", {})
    missing[instrument] = missing.get(instrument, 0) + 1
    before, after = (decided(each)[1] for each in (entry, worse))
    told_before, told_after = told(before), told(after)
    changed = {ref for ref in told_before if told_before[ref] != told_after[ref]}
    concerned = could_have(entry, entry["trays"][number]) & need(before, instrument)
    assert changed <= (reached(entry, concerned) if concerned else set())


# -- 5. Every honoured claim has its own unit; every tray's uses are far enough apart. ------------


@examples(250)
@given(drawn)
def test_nothing_is_promised_twice(entry: Entry) -> None:
    read, report = decided(entry)
    units = [code for each in report.cases for line in each.lines for code in line.units]
    assert len(units) == len(set(units))
    assert verify(read, report) == []


# -- 6. No covered with an open question. --------------------------------------------------------


@examples(250)
@given(drawn)
def test_nothing_is_covered_with_an_open_question(entry: Entry) -> None:
    for each in decided(entry)[1].cases:
        if each.questions:
            assert each.verdict in (Verdict.NOT_KNOWN, Verdict.NOT_COVERED)
        if each.faults:
            assert each.verdict is Verdict.NOT_COVERED


# -- 7. Cancelling a case frees all it held. -----------------------------------------------------


@examples(250)
@given(drawn, seeds)
def test_cancelling_a_case_frees_all_it_held(entry: Entry, choice: int) -> None:
    entry = without_reserved_packs(entry)
    cancelled = Random(choice).choice(entry["cases"])["ref"]
    read, report = decided(entry)
    before = claim_results(read, report, leave_out=cancelled)
    entry["cases"] = [case for case in entry["cases"] if case["ref"] != cancelled]
    read, report = decided(entry)
    after = claim_results(read, report)
    assert all(after[problem] <= results for problem, results in before.items())
    assert all(
        lean.case != cancelled
        for each in report.cases
        for line in each.lines
        for lean in line.leans_on
    )
    assert verify(read, report) == []  # nothing that it held is left unused while another lacks it


# -- 8. Claim by claim, the engine's result equals an exhaustive search. --------------------------


@examples(250)
@given(drawn)
def test_the_engine_says_what_an_exhaustive_search_says(entry: Entry) -> None:
    assert difference(without_unheeded(expect(entry)), told(decided(entry)[1])) == ""
