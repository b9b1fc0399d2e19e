"""The matching that only grows: who is let in, who is moved, who keeps somebody out."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations
from random import Random

import pytest

from scheduling.coverage.bits import bits_of
from scheduling.coverage.matching import Matching


def matched(*claims: Sequence[int]) -> tuple[Matching, list[bool]]:
    """Let these claims in, in order; which of them were."""
    matching = Matching(1 + max((box for wants in claims for box in wants), default=0))
    return matching, [matching.let_in(bits_of(wants)) is not None for wants in claims]


def test_a_claim_takes_the_first_free_box_that_it_wants() -> None:
    matching, let_in = matched([2, 0], [1])
    assert let_in == [True, True]
    assert matching.box_of == [0, 1]


def test_an_earlier_claim_moves_so_that_a_later_one_is_let_in() -> None:
    matching, let_in = matched([0, 1], [0])
    assert let_in == [True, True]
    assert matching.box_of == [1, 0]


def test_a_whole_chain_moves() -> None:
    matching, let_in = matched([0, 1], [1, 2], [2, 3], [0])
    assert let_in == [True] * 4
    assert matching.box_of == [1, 2, 3, 0]


def test_a_dead_end_is_left_for_another_way() -> None:
    """The newcomer's first box belongs to one who cannot move; its second to one who can."""
    matching, let_in = matched([0], [1, 2], [0, 1])
    assert let_in == [True, True, True]
    assert matching.box_of == [0, 2, 1]


def test_a_refused_claim_changes_nothing() -> None:
    matching, let_in = matched([0, 1], [0, 1], [0, 1])
    assert let_in == [True, True, False]
    assert matching.wants == [0b11, 0b11]
    assert sorted(matching.box_of) == [0, 1]
    assert {matching.claim_of[box]: box for box in (0, 1)} == dict(enumerate(matching.box_of))


def test_a_claim_that_wants_nothing_is_refused() -> None:
    assert matched([])[1] == [False]


def test_a_refused_claim_does_not_stand_in_the_way_of_later_ones() -> None:
    assert matched([0], [0], [1])[1] == [True, False, True]


def test_a_long_chain_is_no_deep_recursion() -> None:
    length = 5_000
    matching, let_in = matched(*([i, i + 1] for i in range(length)), [0])
    assert all(let_in)
    assert matching.box_of == [*range(1, length + 1), 0]


# -- settling -------------------------------------------------------------------------------------


def test_settled_each_takes_its_first_box_that_leaves_the_others_servable() -> None:
    matching, _ = matched([0, 1, 2], [0, 1], [0])
    matching.settle([0, 1, 2])
    assert matching.box_of == [2, 1, 0]  # looking ahead: box 0 is all that the last one has


def test_settled_in_another_order_another_one_chooses_first() -> None:
    matching, _ = matched([0, 1], [0, 1])
    matching.settle([1, 0])
    assert matching.box_of == [1, 0]


def test_settling_moves_to_boxes_that_were_free() -> None:
    matching, _ = matched([1], [1, 2])
    matching.wants[0] = bits_of([0, 1])
    matching.settle([0, 1])
    assert matching.box_of == [0, 1]


# -- rivals ---------------------------------------------------------------------------------------


def test_rivals_are_all_that_an_alternating_path_reaches() -> None:
    matching, let_in = matched([0, 1], [1], [2, 3])
    assert let_in == [True, True, True]
    assert matching.let_in(bits_of([0])) is None
    assert matching.rivals(bits_of([0])) == [0, 1]  # the claim on boxes 2 and 3 has no part in it


def test_who_wants_nothing_has_no_rivals() -> None:
    matching, _ = matched([0])
    assert matching.rivals(bits_of([])) == []


# -- against trying everything --------------------------------------------------------------------


def servable(claims: Sequence[Sequence[int]], boxes: int) -> bool:
    """Can each claim have a box of its own?  By trying all ways."""
    return any(
        all(box in wants for box, wants in zip(chosen, claims, strict=True))
        for chosen in permutations(range(boxes), len(claims))
    )


def best(claims: Sequence[list[int]], order: Sequence[int], boxes: int) -> list[int]:
    """The assignment that gives the claims, in order, the boxes highest on their lists."""
    ways = [
        chosen
        for chosen in permutations(range(boxes), len(claims))
        if all(box in wants for box, wants in zip(chosen, claims, strict=True))
    ]
    highest = min(ways, key=lambda way: [claims[i].index(way[i]) for i in order])
    return list(highest)


@pytest.mark.parametrize("seed", range(150))
def test_small_matchings_are_those_that_trying_everything_finds(seed: int) -> None:
    random = Random(seed)
    boxes = random.randint(1, 5)
    claims = [
        sorted(random.sample(range(boxes), random.randint(0, min(3, boxes)))) for _ in range(5)
    ]
    matching = Matching(boxes)
    stands: list[list[int]] = []
    for wants in claims:
        expected = servable([*stands, wants], boxes)
        assert (matching.let_in(bits_of(wants)) is not None) is expected
        if expected:
            stands.append(wants)
            continue
        # Hall: the refused claim and its rivals want fewer boxes than they are.
        rivals = matching.rivals(bits_of(wants))
        wanted = set(wants).union(*(stands[i] for i in rivals))
        assert len(wanted) == len(rivals)
    order = random.sample(range(len(stands)), len(stands))
    matching.settle(order)
    assert matching.box_of == best(stands, order, boxes)
