"""Uses that follow one another: let in exactly when all can be served, and else who is too many."""

from __future__ import annotations

from itertools import permutations
from random import Random

from scheduling.coverage.bits import each
from scheduling.coverage.tray_chains import Chains

TRAYS, CASES = 2, 6


def test_places_are_told_one_by_one() -> None:
    assert list(each(0b101001)) == [0, 3, 5]


def test_a_use_comes_after_a_tray_or_after_another_use() -> None:
    chains = Chains(1, 2)
    first, second = chains.use(0), chains.use(1)
    assert chains.add(first, 0b1) is None
    assert chains.add(second, 0b1 | chains.after_cases(0b1)) is None
    assert chains.tray_of(second) == 0


def test_a_use_before_all_others_pushes_them_on() -> None:
    """The later use has the tray; the earlier one takes it, and the later comes after that."""
    chains = Chains(1, 2)
    first, second = chains.use(0), chains.use(1)
    assert chains.add(second, 0b1 | chains.after_cases(0b1)) is None
    assert chains.add(first, 0b1) is None
    assert chains.tray_of(second) == chains.tray_of(first) == 0


def test_a_use_that_finds_no_place_says_whose_uses_are_too_many() -> None:
    chains = Chains(2, 4)
    assert chains.add(chains.use(0), 0b01) is None
    assert chains.add(chains.use(1), 0b10) is None
    assert chains.add(chains.use(2), 0b01) == {0, 2}  # case 1 wants another tray
    assert chains.add(chains.use(3), 0b11) == {0, 1, 3}
    assert not chains.has(chains.use(2))


def test_a_use_taken_back_leaves_its_place_to_those_after_it() -> None:
    chains = Chains(1, 3)
    for i in range(3):
        follows = 0b1 | chains.after_cases((1 << i) - 1)
        assert chains.add(chains.use(i), follows) is None
    chains.remove(chains.use(1))
    assert chains.tray_of(chains.use(2)) == 0
    assert chains.add(chains.use(1), 0b1 | chains.after_cases(0b1)) is None


def test_what_is_fixed_stays() -> None:
    chains = Chains(2, 2)
    assert chains.add(chains.use(0), 0b11) is None
    chains.fix(chains.use(0))
    assert chains.add(chains.use(1), 0b01) == {1}


def follows_of(rng: Random) -> list[int]:
    """A random problem: a use may come after trays, and after uses of earlier cases so that what
    may follow a use may follow all before it."""
    free_again = [rng.randint(i + 1, CASES) for i in range(CASES)]
    ready = [rng.randint(0, CASES // 2) for _ in range(TRAYS)]
    return [
        sum(1 << tray for tray in range(TRAYS) if ready[tray] <= i)
        | sum(1 << TRAYS + j for j in range(i) if free_again[j] <= i)
        for i in range(CASES)
    ]


def can_be_served(uses: list[int], follows: list[int]) -> bool:
    """Try every way to give the uses places."""
    places = [*range(TRAYS), *(TRAYS + i for i in uses)]
    return any(
        all(follows[i] >> place & 1 for i, place in zip(uses, chosen, strict=True))
        for chosen in permutations(places, len(uses))
    )


def test_let_in_exactly_when_some_way_serves_all() -> None:
    for seed in range(80):
        rng = Random(seed)
        follows, chains, there = follows_of(rng), Chains(TRAYS, CASES), []
        for i in rng.sample(range(CASES), CASES):
            conflict = chains.add(chains.use(i), follows[i])
            assert (conflict is None) == can_be_served([*there, i], follows), seed
            if conflict is None:
                there.append(i)
            else:
                assert i in conflict
                assert not can_be_served(sorted(conflict), follows), seed
