"""Refusals by counting: what is counted, and what is left to a search."""

from __future__ import annotations

import pytest

from scheduling.coverage import tray_arrangement
from scheduling.coverage.engine import decide
from scheduling.coverage.report import Status
from tests.coverage_engine.build import Entry, kind, scenario, tray, wants
from tests.coverage_engine.tray_store import ADD, ALONE, BASE


class NoModel:
    """In place of the solver: these claims must be settled without."""

    def __init__(self, *_: object) -> None:
        raise AssertionError("the solver was asked")


@pytest.fixture
def without_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tray_arrangement, "Model", NoModel)


def statuses(*entries: Entry | list[Entry]) -> list[Status]:
    return [case.sets[0].status for case in decide(scenario(*entries)).cases]


@pytest.mark.usefixtures("without_solver")
def test_more_cases_than_trays_of_either_option() -> None:
    """Whoever has which set, one case is too many: no need to try."""
    either = [wants(f"C{n}", "Tue 08:00", sets="BASE or ALONE") for n in range(5)]
    trays = [tray("BASE/1"), tray("BASE/2"), tray("ALONE/1"), tray("ALONE/2")]
    assert statuses(BASE, ALONE, *trays, *either) == [Status.HELD] * 4 + [Status.SHORT]


@pytest.mark.usefixtures("without_solver")
def test_of_an_option_of_two_trays_the_scarcer_one_counts() -> None:
    either = [wants(f"C{n}", "Tue 08:00", sets="BASE + ADD or ALONE") for n in range(3)]
    trays = [tray("BASE/1"), tray("BASE/2"), tray("BASE/3"), tray("ADD/1"), tray("ALONE/1")]
    assert statuses(BASE, ADD, ALONE, *trays, *either) == [Status.HELD] * 2 + [Status.SHORT]


@pytest.mark.usefixtures("without_solver")
def test_the_option_that_others_have_no_choice_about_counts() -> None:
    """Two want BASE and nothing else; who might have either is one too many."""
    trays = [tray("BASE/1"), tray("BASE/2"), tray("ALONE/1")]
    cases = [
        wants("C1", "Tue 08:00", sets="ALONE or BASE"),
        wants("C2", "Tue 08:00", sets="BASE"),
        wants("C3", "Tue 08:00", sets="BASE"),
        wants("C4", "Tue 08:00", sets="ALONE or BASE"),
    ]
    assert statuses(BASE, ALONE, *trays, *cases) == [*[Status.HELD] * 3, Status.SHORT]


@pytest.mark.usefixtures("without_solver")
def test_uses_far_enough_apart_are_not_too_many() -> None:
    fast = kind("BASE", turnaround=360, fast=120)
    cases = [wants("C1", "Tue 08:00", sets="BASE"), wants("C2", "Tue 13:30", sets="BASE")]
    assert statuses(fast, tray("BASE/1"), *cases) == [Status.HELD, Status.CONDITIONAL]
    assert statuses(BASE, tray("BASE/1"), *cases) == [Status.HELD, Status.SHORT]
