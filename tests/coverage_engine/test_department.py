"""The load of sterile services: queues at its stages, and what they do to a case."""

from __future__ import annotations

import heapq
import random
from dataclasses import replace

import pytest

from scheduling.coverage.department import Job, simulate
from scheduling.coverage.engine import decide
from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import Status, Verdict
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario, write_scenario
from scheduling.coverage.values import DepartmentStage, Scenario
from scheduling.coverage.verify import verify
from tests.coverage_engine.department_day import two_trays_back_at_once

WASH = DepartmentStage("cleaning", 1, 60)
BENCH = DepartmentStage("inspection and assembly", 1, 30)


def waits(jobs: list[Job], *stages: DepartmentStage) -> list[int]:
    return [wait.minutes for wait in simulate(jobs, stages)]


def test_nothing_waits_where_there_is_room() -> None:
    jobs = [Job("A/1", 0, 500), Job("A/2", 0, 500)]
    assert waits(jobs, replace(WASH, places=2), replace(BENCH, places=2)) == [0, 0]


def test_the_tray_needed_first_goes_first() -> None:
    jobs = [Job("A/1", 0, 900), Job("A/2", 0, 500)]
    assert waits(jobs, WASH) == [60, 0]


def test_a_tray_in_a_machine_is_not_interrupted() -> None:
    jobs = [Job("A/1", 0, 900), Job("A/2", 10, 100)]
    assert waits(jobs, WASH) == [0, 50]


def test_a_place_that_is_out_of_use_is_not_taken_until_it_is_back() -> None:
    two = replace(WASH, places=2)
    jobs = [Job("A/1", 0, 500), Job("A/2", 0, 500), Job("B/1", 300, 900), Job("B/2", 300, 900)]

    def waits_with(*back: int) -> list[int]:
        return [wait.minutes for wait in simulate(jobs, [two], {WASH.name: back})]

    assert waits_with(40) == [0, 40, 0, 0]
    assert waits_with(200) == [0, 60, 0, 0]
    assert waits_with(30, 90) == [30, 90, 0, 0]
    assert waits_with(320, 3000) == [320, 380, 140, 200]


def test_waits_add_up_over_the_stages_and_name_the_longest() -> None:
    slow_bench = DepartmentStage("inspection and assembly", 1, 90)
    jobs = [Job("A/1", 0, 100), Job("A/2", 0, 200)]
    # A/2 washes from 60 to 120; the bench is busy with A/1 from 60 to 150.
    found = simulate(jobs, [WASH, slow_bench])
    assert [(wait.minutes, wait.stage) for wait in found] == [(0, ""), (90, "cleaning")]


def minute_by_minute(jobs: list[Job], stages: list[DepartmentStage]) -> list[int]:
    """Another simulation, a clock that ticks: the waits in all."""
    waited = [0] * len(jobs)
    at_stage = [0] * len(jobs)
    free_from = [job.arrives for job in jobs]
    busy: list[list[int]] = [[] for _ in stages]
    for now in range(5000):
        for number, stage in enumerate(stages):
            while busy[number] and busy[number][0] <= now:
                heapq.heappop(busy[number])
            queue = sorted(
                (n for n in range(len(jobs)) if at_stage[n] == number and free_from[n] <= now),
                key=lambda n: (jobs[n].due, jobs[n].tray),
            )
            for n in queue[: stage.places - len(busy[number])]:
                waited[n] += now - free_from[n]
                free_from[n] = now + stage.minutes
                at_stage[n] += 1
                heapq.heappush(busy[number], now + stage.minutes)
    assert set(at_stage) <= {len(stages)}
    return waited


@pytest.mark.parametrize("seed", range(60))
def test_as_a_clock_that_ticks_would_have_it(seed: int) -> None:
    dice = random.Random(seed)
    jobs = [
        Job(f"T/{n}", dice.randrange(0, 300), dice.randrange(200, 900))
        for n in range(dice.randrange(1, 9))
    ]
    stages = [
        DepartmentStage(f"stage {n}", dice.randrange(1, 4), dice.randrange(10, 90))
        for n in range(dice.randrange(1, 4))
    ]
    assert waits(jobs, *stages) == minute_by_minute(jobs, stages)


def with_department(scenario: Scenario, *stages: DepartmentStage) -> Scenario:
    return replace(scenario, site=replace(scenario.site, department=stages))


def test_without_stated_capacity_nothing_changes() -> None:
    report = decide(two_trays_back_at_once())
    assert [case.verdict for case in report.cases] == [Verdict.COVERED] * 4


def test_enough_capacity_changes_nothing() -> None:
    scenario = two_trays_back_at_once()
    roomy = with_department(scenario, replace(WASH, places=2), replace(BENCH, places=2))
    assert decide(roomy) == decide(scenario)


def test_a_full_department_puts_the_later_case_at_risk_and_says_so() -> None:
    report = decide(with_department(two_trays_back_at_once(), WASH, BENCH))
    assert [(case.case, case.verdict) for case in report.cases] == [
        ("A1", Verdict.COVERED),
        ("A2", Verdict.COVERED),
        ("B1", Verdict.COVERED),
        ("B2", Verdict.AT_RISK),
    ]
    line = report.case("B2").sets[0]
    assert line.status is Status.CONDITIONAL
    assert [sentence(reason) for reason in line.because] == [
        "sterile services is full: SET/2 waits 1 h, longest at cleaning, "
        "and is ready Tue 2 Mar 16:15, 45 min too late"
    ]


def test_the_independent_checker_allows_for_a_full_department() -> None:
    scenario = with_department(two_trays_back_at_once(), WASH, BENCH)
    assert verify(scenario, decide(scenario)) == []


def test_the_department_goes_through_the_file_and_back() -> None:
    scenario = with_department(two_trays_back_at_once(), WASH, BENCH)
    assert read_scenario(write_scenario(scenario)) == scenario


def test_faults_of_a_department_name_their_place() -> None:
    text = write_scenario(with_department(two_trays_back_at_once(), WASH))
    broken = text.replace('"places": 1', '"places": 0').replace("cleaning", "drying")
    with pytest.raises(ScenarioFaults) as caught:
        read_scenario(broken)
    assert caught.value.faults == [
        "site.department.drying: unknown key "
        "(known: cleaning, inspection and assembly, sterilising)",
    ]
