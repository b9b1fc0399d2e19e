"""The garbage collector rests while a decision is made, and only then."""

from __future__ import annotations

import gc
from threading import Barrier, Thread

import pytest

from scheduling.coverage.collector import collector_held_off
from scheduling.coverage.engine import Decision
from tests.coverage_engine.one_house import STEM, box, case, house, rule, technique


def test_it_is_off_within_and_on_again_after() -> None:
    with collector_held_off():
        assert not gc.isenabled()
    assert gc.isenabled()


def test_it_is_on_again_after_an_error() -> None:
    with pytest.raises(ZeroDivisionError), collector_held_off():
        1 / 0  # noqa: B018  a decision that fails
    assert gc.isenabled()


def test_who_switched_it_off_finds_it_off() -> None:
    gc.disable()
    try:
        with collector_held_off():
            assert not gc.isenabled()
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_with_two_threads_it_is_on_when_the_first_is_done() -> None:
    """Whoever comes second neither waits nor keeps it off: threads that relieve one another would
    else never let it work."""
    first_is_in, second_is_in, first_is_out = Barrier(2), Barrier(2), Barrier(2)
    seen: list[bool] = []

    def first() -> None:
        with collector_held_off():
            first_is_in.wait(5)
            second_is_in.wait(5)
        first_is_out.wait(5)

    def second() -> None:
        first_is_in.wait(5)
        with collector_held_off():
            second_is_in.wait(5)
            first_is_out.wait(5)
            seen.append(gc.isenabled())

    threads = [Thread(target=first), Thread(target=second)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(5)
    assert seen == [True]
    assert gc.isenabled()


def test_no_collection_runs_within_a_decision(monkeypatch: pytest.MonkeyPatch) -> None:
    """Though it would come by with every value that is made."""
    within: list[int] = []
    deciding = False

    def collected(phase: str, _: dict[str, int]) -> None:
        if phase == "start" and deciding:
            within.append(1)

    def needs(self: Decision) -> object:
        nonlocal deciding
        deciding = True
        return decide_needs(self)

    def trays(self: Decision) -> object:
        nonlocal deciding
        found = decide_trays(self)
        deciding = False
        return found

    decide_needs, decide_trays = Decision._decide_needs, Decision._decide_trays
    monkeypatch.setattr(Decision, "_decide_needs", needs)
    monkeypatch.setattr(Decision, "_decide_trays", trays)
    scenario = house(
        case("A", "02T10:00", components=STEM),
        techniques=[technique("T", rule("stem", "contingency"))],
        shelf=[box("STEM-12/1")],
    )
    thresholds = gc.get_threshold()
    gc.callbacks.append(collected)
    gc.set_threshold(1, 1, 1)
    try:
        Decision(scenario)
    finally:
        gc.set_threshold(*thresholds)
        gc.callbacks.remove(collected)
    assert within == []
