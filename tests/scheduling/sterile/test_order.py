"""The proposed order of work against every order there is, on small instances."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from scheduling.sterile.order import (
    FAR,
    Cost,
    Department,
    Work,
    by_due,
    cost,
    fewest_late,
    propose,
    simulate,
)

ONE_BENCH = Department(1, ((99, 0),))
"""A steriliser that takes everything in no time: only the bench is scarce."""


def least(work: list[Work], department: Department) -> Cost:
    """The best of every order and both ways to load."""
    return min(
        cost(simulate(order, department, wait=wait))
        for order in permutations(work)
        for wait in (True, False)
    )


def some_work(chance: random.Random, number: int, *, arrives: bool) -> list[Work]:
    return [
        Work(
            f"T{n}",
            chance.choice((0, 0, 10, 30, 60)) if arrives else 0,
            chance.choice((0, 20, 30, 45)) if arrives else chance.randint(1, 9) * 5,
            chance.choice((60, 120, 150, 200, 240, FAR)) if arrives else chance.randint(4, 40) * 5,
            chance.choice((0, 15)),
        )
        for n in range(number)
    ]


@pytest.mark.parametrize("seed", range(40))
def test_on_one_bench_by_due_makes_the_largest_lateness_least(seed: int) -> None:
    """Jackson 1955, by exhaustion; what comes after the bench is taken off the due date."""
    work = some_work(random.Random(seed), 5, arrives=False)
    found = cost(simulate(by_due(work), ONE_BENCH, wait=False))[1]
    every = (cost(simulate(order, ONE_BENCH, wait=False))[1] for order in permutations(work))
    assert found == min(every)


@pytest.mark.parametrize("seed", range(40))
def test_on_one_bench_setting_the_longest_aside_makes_the_fewest_late(seed: int) -> None:
    """Moore 1968, by exhaustion."""
    work = some_work(random.Random(seed), 5, arrives=False)
    found = cost(simulate(fewest_late(work, 0), ONE_BENCH, wait=False))[0]
    every = (cost(simulate(order, ONE_BENCH, wait=False))[0] for order in permutations(work))
    assert found == min(every)


@pytest.mark.parametrize("benches", [1, 2])
def test_with_arrivals_and_loads_the_proposal_is_as_good_as_the_best_order(benches: int) -> None:
    """Neither rule is exact there.  The fewest late are always reached; the whole cost, with the
    largest lateness and the sum, in at least nineteen instances of twenty."""
    chance = random.Random(7 + benches)
    instances, same = 60, 0
    for _ in range(instances):
        work = some_work(chance, 5, arrives=True)
        department = Department(benches, chance.choice((((2, 60),), ((3, 75), (2, 60)))))
        found, best = cost(propose(work, department)), least(work, department)
        assert found >= best
        assert found[0] == best[0]
        same += found == best
    assert same >= instances * 19 // 20


def test_a_steriliser_waits_for_the_next_pack_as_long_as_nothing_is_late_by_it() -> None:
    first, second = Work("A", 0, 0, due=200), Work("B", 0, 40, due=300)
    one = Department(1, ((4, 60),))
    together = simulate([first, second], one)
    assert [(step.load, step.through) for step in together] == [(1, 100), (1, 100)]
    hurried = simulate([Work("A", 0, 0, due=90), second], one)
    assert [(step.load, step.through) for step in hurried] == [(1, 60), (2, 120)]


def test_a_load_takes_no_more_than_its_places_the_first_due_first() -> None:
    work = [Work(f"T{n}", 0, 0, due=100 * (9 - n)) for n in range(3)]
    steps = {step.work.tray: step.load for step in simulate(work, Department(1, ((2, 60),)))}
    assert steps == {"T0": 2, "T1": 1, "T2": 1}


def test_what_nobody_waits_for_comes_last_and_is_never_late() -> None:
    steps = propose([Work("IDLE", 0, 30, FAR), Work("DUE", 0, 30, 60)], Department(1, ((4, 30),)))
    assert [step.work.tray for step in steps] == ["DUE", "IDLE"]
    assert cost(steps)[0] == 0


def test_without_a_steriliser_nothing_is_through() -> None:
    (step,) = propose([Work("A", 0, 30, 600)], Department(1, ()))
    assert step.through == FAR
