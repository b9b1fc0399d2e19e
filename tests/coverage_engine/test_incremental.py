"""A decision that takes over from an earlier one says the same, byte for byte, as a full run."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random

import pytest

from scheduling.coverage import engine
from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Report
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.coverage.values import Scenario
from tests.coverage_engine.build import scenario as small_store
from tests.coverage_engine.build import tray as store_tray
from tests.coverage_engine.build import wants
from tests.coverage_engine.one_house import box, case, decided, rule, technique, tray
from tests.coverage_engine.random_changes import CHANGES, changed
from tests.coverage_engine.random_scenarios import Entry, scenario
from tests.coverage_engine.tray_store import SINGLE as SINGLE_PACK

SINGLE = 300
CHAINS = 60
LINKS = 6


def read(entry: Entry) -> Scenario:
    return read_scenario(json.dumps(entry))


def as_bytes(report: Report, of: Scenario) -> bytes:
    return json.dumps(report_to_json(report, of)).encode()


def same_as_a_full_run(decision: Decision) -> None:
    full = decide(decision.scenario)
    assert decision.report == full
    assert as_bytes(decision.report, decision.scenario) == as_bytes(full, decision.scenario)


@pytest.mark.parametrize("block", range(10))
def test_one_random_change(block: int) -> None:
    for seed in range(block * SINGLE // 10, (block + 1) * SINGLE // 10):
        entry = scenario(seed)
        before = Decision(read(entry))
        same_as_a_full_run(Decision(read(changed(entry, Random(seed))), before))


@pytest.mark.parametrize("block", range(6))
def test_chains_of_random_changes(block: int) -> None:
    for seed in range(block * CHAINS // 6, (block + 1) * CHAINS // 6):
        rng = Random(seed)
        entry = scenario(10_000 + seed)
        decision = Decision(read(entry))
        for _ in range(LINKS):
            entry = changed(entry, rng)
            decision = Decision(read(entry), decision)
            same_as_a_full_run(decision)


@pytest.mark.parametrize("change", sorted(set(CHANGES), key=lambda change: change.__name__))
def test_every_kind_of_change_does_change_scenarios(change: object) -> None:
    """The drawing is no sham: each kind leaves most scenarios other than they were."""
    assert callable(change)
    different = 0
    for seed in range(12):
        entry = scenario(20_000 + seed)
        before = json.dumps(entry)
        change(entry, Random(seed))
        different += json.dumps(entry) != before
    assert different >= 3


def test_back_again() -> None:
    """There and back is where it was, whatever was taken over on the way."""
    for seed in range(40):
        entry = scenario(30_000 + seed)
        first = Decision(read(entry))
        away = Decision(read(changed(entry, Random(seed))), first)
        assert Decision(read(entry), away).report == first.report


def test_a_pack_that_could_serve_nobody_is_told_of_only_while_it_is_there() -> None:
    asks = wants("C1", "Tue 08:00", "REAM-12")
    pack_is_there = small_store(SINGLE_PACK, store_tray("SP/1", missing="REAM-12"), asks)
    pack_is_gone = small_store(SINGLE_PACK, asks)
    decision = Decision(pack_is_there)
    for following in (pack_is_gone, pack_is_there):
        decision = Decision(following, decision)
        same_as_a_full_run(decision)


def test_only_what_a_change_touches_is_decided_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """One box more of one item: no needs, no trays, no other item."""
    stems = technique("T", rule("reamer"), options=[["STAND"]])
    decision = decided(
        case("A", "02T08:30", components={"stem": {"size": 12}}),
        case("B", "02T08:30", components={"head": {"diameter": 36}}),
        techniques=[stems],
        trays=[tray("STAND/1"), tray("STAND/2")],
        shelf=[box("HEAD-36/1")],
    )
    again: list[str] = []
    item_outcome = engine.item_outcome

    def counted(clock: object, implant: object, *rest: object) -> object:
        again.append(implant.ref)  # type: ignore[attr-defined]
        return item_outcome(clock, implant, *rest)  # type: ignore[arg-type]

    def never(*_: object) -> object:
        raise AssertionError("decided again")

    monkeypatch.setattr(engine, "item_outcome", counted)
    monkeypatch.setattr(engine, "group_outcome", never)
    monkeypatch.setattr(engine, "needs_of", never)
    shelf = decision.scenario.shelf
    stem = replace(shelf["HEAD-36/1"], code="STEM-12/1", implant="STEM-12")
    after = Decision(replace(decision.scenario, shelf={**shelf, stem.code: stem}), decision)
    assert again == ["STEM-12"]
    assert after.report.case("A").verdict == "covered"
