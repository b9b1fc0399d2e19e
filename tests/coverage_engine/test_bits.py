"""Sets as bits: what goes in comes out, lowest first."""

from __future__ import annotations

from random import Random

from scheduling.coverage.bits import bits_of, each


def test_what_goes_in_comes_out_in_order() -> None:
    rng = Random(1)
    for _ in range(200):
        members = rng.sample(range(400), rng.randint(0, 30))
        assert list(each(bits_of(members))) == sorted(members)


def test_a_member_given_twice_is_in_once() -> None:
    assert bits_of([3, 3, 0]) == 0b1001


def test_of_nothing_there_are_no_members() -> None:
    assert bits_of([]) == 0
    assert list(each(0)) == []
